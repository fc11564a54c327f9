//! Writes an invented sheet of instructions on every paper, with each kind of block, to be looked at
//! and checked by independent readers.
//!
//! `cargo run -p featherline-cutting --example instructions -- FOLDER`

use std::error::Error;
use std::path::Path as FilePath;

use cutting::pdf::Paper;
use cutting::sheet::{Align, Block, Column, Outcome, Sheet, StatusRow, Table, write};
use geometry::drawing::{Area, Curve, Drawing, Item, Layer, Path, Stroke};
use glam::{DVec2, dvec2};

/// Triangles along and across the picture: 2 x 200 x 50 = 20 000 areas.
const FIELDS: (u32, u32) = (200, 50);

/// Colours of the picture, from little to much.
const SCALE: [[u8; 3]; 5] =
    [[40, 70, 150], [90, 150, 190], [235, 235, 220], [225, 150, 90], [160, 50, 40]];

fn main() -> Result<(), Box<dyn Error>> {
    let folder = std::env::args().nth(1).ok_or("give the folder to write to")?;
    let folder = FilePath::new(&folder);
    std::fs::create_dir_all(folder)?;
    for paper in Paper::all() {
        let name = format!("instructions-{}.pdf", paper.name().to_lowercase());
        std::fs::write(folder.join(name), write(&instructions(), paper)?)?;
    }
    Ok(())
}

fn instructions() -> Sheet {
    let heading = |words: &str| Block::Heading(words.to_owned());
    let paragraph = |words: &str| Block::Paragraph(words.to_owned());
    Sheet {
        title: "Heel piece “Example”".to_owned(),
        subtitle: "Invented data – for the look of the page only".to_owned(),
        footer: "Invented example · not a pattern · Łukasz’s bench".to_owned(),
        blocks: vec![
            paragraph(
                "Cut one left and one right. The side that is drawn is the grain side: turn the \
                 paper over for the other foot. All lengths are in millimetres; ± stands beside \
                 what was estimated. The piece is 2 × 1.2 mm thick and bends at 15°.",
            ),
            Block::Note(
                "Cut away from the body. Air the room when gluing. Heated board burns: wear gloves. \
                 A pattern certifies nothing; local rules come first."
                    .to_owned(),
            ),
            heading("Checks"),
            Block::Status(vec![
                status(Outcome::Pass, "Back height 51.0 ≤ 53.0", "common practice, no source"),
                status(Outcome::Fail, "Edge under the outside ankle: 46.2, limit 45.0", "1.2 mm too high within 18 mm of the ankle. Lower the topline there, or enter the wearer’s own ankle height; it wins over any rule of thumb."),
                status(Outcome::Unsure, "Inside ankle", ""),
            ]),
            heading("Strain"),
            Block::Picture {
                drawing: strain(),
                height_mm: 60.0,
                caption: "How far the material must stretch or give, from the flat piece to the \
                          form."
                    .to_owned(),
            },
            Block::Legend {
                entries: SCALE
                    .into_iter()
                    .zip(["−4 % and less", "−2 %", "0 %", "+2 %", "+4 % and more"])
                    .map(|(color, words)| (color, words.to_owned()))
                    .collect(),
                caption: "Blue gives, red stretches.".to_owned(),
            },
            heading("Lengths"),
            Block::Table(lengths()),
            heading("Last heading"),
            paragraph("It stands with this line.\nAnd this one."),
        ],
    }
}

fn status(outcome: Outcome, subject: &str, detail: &str) -> StatusRow {
    StatusRow { outcome, subject: subject.to_owned(), detail: detail.to_owned() }
}

fn lengths() -> Table {
    let column =
        |title: &str, share: f64, align: Align| Column { title: title.to_owned(), share, align };
    let rows = (1..=40_u32).map(|i| {
        let reason = if i % 7 == 0 {
            "a longer reason that has to go over several lines of its narrow column, as reasons do"
        } else {
            "common practice"
        };
        let value = 20.0 + 3.7 * f64::from(i);
        vec![format!("Length {i}"), format!("{value:.1}"), "mm".to_owned(), reason.to_owned()]
    });
    Table {
        columns: vec![
            column("What", 2.0, Align::Left),
            column("Value", 1.0, Align::Right),
            column("Unit", 0.7, Align::Center),
            column("Reason", 4.0, Align::Left),
        ],
        rows: rows.collect(),
    }
}

/// A band of triangles in the colours of a smooth field, under its outline.
fn strain() -> Drawing {
    let (columns, rows) = FIELDS;
    let at = |i: u32, j: u32| {
        let (u, v) = (f64::from(i) / f64::from(columns), f64::from(j) / f64::from(rows));
        let radius = 160.0 + 50.0 * v;
        DVec2::from_angle((150.0 - 120.0 * u).to_radians()) * radius
    };
    let color = |p: DVec2| {
        let height = ((p.x / 35.0).sin() + (p.y / 25.0).cos() + 2.0) / 4.0;
        SCALE[(height * 4.999) as usize]
    };
    let mut items = Vec::new();
    for i in 0..columns {
        for j in 0..rows {
            let [a, b, c, d] = [at(i, j), at(i + 1, j), at(i + 1, j + 1), at(i, j + 1)];
            for outline in [vec![a, b, c], vec![a, c, d]] {
                let middle = outline.iter().sum::<DVec2>() / 3.0;
                items.push(Item::Area(Area { outline, color: color(middle) }));
            }
        }
    }
    let lower = (0..=columns).map(|i| at(i, 0));
    let upper = (0..=columns).rev().map(|i| at(i, rows));
    let curve = Curve::polyline(lower.chain(upper), true);
    items.push(Item::Path(Path { layer: Layer::Cut, stroke: Stroke::Solid, curve }));
    let middle = Curve::polyline([dvec2(0.0, 155.0), dvec2(0.0, 215.0)], false);
    items.push(Item::Path(Path { layer: Layer::Mark, stroke: Stroke::Chain, curve: middle }));
    Drawing { title: "Strain".to_owned(), items }
}
