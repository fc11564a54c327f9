//! The sheet of measures: pictures, the table, what was mended, what to be careful with.

use cutting::pdf::Paper;
use cutting::sheet::{self, Align, Block, Column, Sheet, Table};
use cutting::text_box;
use geometry::drawing::{Drawing, Item};

use super::picture::Pictures;
use super::rows::{rows, sure_words};
use super::simpler::for_picture;
use crate::commands::measure::Measured;

/// The sheet as PDF.
pub(crate) fn sheet(measured: &Measured) -> anyhow::Result<Vec<u8>> {
    let (mesh, normals) = for_picture(&measured.last.mesh);
    let pictures = Pictures { measured, mesh: &mesh, normals: &normals };
    let (last, m) = (&measured.last, &measured.measures);
    let scale = format!("Pictures at 1 : {:.2}; all figures in mm.", 1.0 / pictures.scale());
    let mut blocks = vec![
        picture(
            pictures.side(),
            format!(
                "From the outside. {scale} Unbroken: feather line and ground. Long dashes: centre back. Dashes: where the tape lies; the figures at the points are its girths."
            ),
        ),
        picture(pictures.below(), "From below.".into()),
        picture(pictures.behind(), "From behind.".into()),
    ];
    if !measured.warnings.is_empty() {
        blocks.push(Block::Heading("Look at this first".into()));
        let noticed = measured
            .warnings
            .iter()
            .map(|w| format!("{}: {}. {}.", capital(&w.place), w.message, capital(&w.hint)));
        blocks.push(Block::Note(noticed.collect::<Vec<_>>().join("\n")));
    }
    blocks.extend([
        Block::Heading("Measures".into()),
        Block::Table(table(measured)),
        Block::Note("Computed from the scan, not taken with a tape: check the girths, the length and the heel height on the last itself before you rely on them. Where a line says less than 60 of 100, look at the mark that it goes over.".into()),
    ]);
    if !measured.repairs.is_empty() {
        blocks.push(Block::Heading("What was mended on the scan".into()));
        let mended = measured
            .repairs
            .iter()
            .map(|r| format!("{}. {}.", capital(&r.message), capital(&r.hint)));
        let rings = measured.repairs.iter().any(|r| !r.places.is_empty());
        let rings = rings.then(|| "Rings in the pictures show where.".to_owned());
        blocks.push(Block::Paragraph(mended.chain(rings).collect::<Vec<_>>().join("\n")));
    }
    blocks.push(Block::Heading("What the program found, and by what sign".into()));
    let found = last
        .found
        .iter()
        .map(|f| format!("{} (sure: {:.0} of 100)", f.sentence, 100.0 * f.sureness));
    blocks.push(Block::Paragraph(found.collect::<Vec<_>>().join("\n")));
    blocks.push(Block::Note("Children's, diabetic, orthopaedic and protective footwear belong with licensed professionals and their standards. Measures certify nothing; local rules come first.".into()));
    let sheet = Sheet {
        title: format!("Measures of a last, {} foot", last.foot),
        subtitle: format!(
            "{}, {}{}",
            measured.name,
            m.sizes.words(),
            if measured.warnings.is_empty() { "" } else { " · with warnings on the next page" }
        ),
        footer: format!("{} · computed from a scan; check with a tape", measured.name),
        blocks,
    };
    Ok(sheet::write(&sheet, Paper::A4)?)
}

/// A picture at its own size.
fn picture(drawing: Drawing, caption: String) -> Block {
    let height_mm = height(&drawing);
    Block::Picture { drawing, height_mm, caption }
}

/// The height that a drawing takes with its texts, mm.
fn height(drawing: &Drawing) -> f64 {
    let texts = drawing.items.iter().filter_map(|item| match item {
        Item::Text(text) => Some(text_box(text)),
        _ => None,
    });
    let heights = texts.flatten().map(|p| p.y);
    let (low, high) = drawing.bounds().map_or((0.0, 0.0), |(low, high)| (low.y, high.y));
    let (low, high) = heights.fold((low, high), |(l, h), y| (l.min(y), h.max(y)));
    high - low
}

fn table(measured: &Measured) -> Table {
    let column =
        |title: &str, share: f64, align: Align| Column { title: title.into(), share, align };
    Table {
        columns: vec![
            column("Measure", 2.2, Align::Left),
            column("Value", 2.4, Align::Right),
            column("How it was taken", 5.2, Align::Left),
            column("Sure", 1.4, Align::Right),
        ],
        rows: rows(measured)
            .into_iter()
            .map(|row| {
                vec![capital(&row.name), row.value, capital(&row.how), sure_words(row.sureness)]
            })
            .collect(),
    }
}

fn capital(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map_or(String::new(), |first| first.to_uppercase().chain(letters).collect())
}
