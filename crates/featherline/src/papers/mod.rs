//! Everything a drafted job leaves behind: patterns on paper, files for machines, the sheet of
//! instructions and the report.

mod folder;
mod instructions;
pub(crate) mod measures;
mod stage;
mod surfaces;

use cutting::pdf::{self, PageOptions, Paper, TileOptions};
use cutting::{check_line, dxf, sheet, svg};
use rayon::prelude::*;
use shoe::draft::Drafted;
use shoe::stiffener::{piece, strain_picture};

pub(crate) use folder::write_all;

/// Clear space round a drawing, mm.
const MARGIN: f64 = 10.0;

/// One file to write.
pub(crate) struct File {
    /// Name below the folder of the patterns; a slash makes a folder.
    pub(crate) name: &'static str,
    /// What it is, for people.
    pub(crate) what: String,
    pub(crate) bytes: Vec<u8>,
}

/// A writer of one file.
type Make<'a> = Box<dyn Fn() -> anyhow::Result<File> + Send + Sync + 'a>;

/// Makes every file, side by side on as many threads as there are; the bytes do not depend on
/// their number.
pub(crate) fn make(drafted: &Drafted) -> anyhow::Result<Vec<File>> {
    let stiffener = &drafted.stiffener;
    let drawing = piece::draw(stiffener, &drafted.report.job);
    let file =
        |name: &'static str, what: &str, bytes: Vec<u8>| File { name, what: what.into(), bytes };
    let tiled = |paper: Paper, name: &'static str| -> anyhow::Result<File> {
        let tiled = pdf::write_tiled(&drawing, paper, TileOptions::default())?;
        let what = format!("the piece at full scale on {}", tiled.layout);
        Ok(File { name, what, bytes: tiled.bytes })
    };
    let makers: Vec<Make<'_>> = vec![
        Box::new(|| {
            let sheet = instructions::sheet(drafted);
            let bytes = sheet::write(&sheet, Paper::A4)?;
            Ok(file("instructions.pdf", "how to cut it, and why every number is what it is", bytes))
        }),
        Box::new(|| {
            let bytes = pdf::write_page(&drawing, PageOptions::default())?;
            Ok(file("stiffener.pdf", "the piece at full scale on one page", bytes))
        }),
        Box::new(|| tiled(Paper::A4, "stiffener-a4.pdf")),
        Box::new(|| tiled(Paper::Letter, "stiffener-letter.pdf")),
        Box::new(|| {
            let mut measured = drawing.clone();
            let low = drawing.bounds().map_or_else(Default::default, |(low, _)| low);
            measured.items.extend(check_line::below(low));
            let bytes = svg::write(&measured, MARGIN)?.into_bytes();
            Ok(file(
                "stiffener.svg",
                "the piece at full scale, for drawing programs and lasers",
                bytes,
            ))
        }),
        Box::new(|| {
            let bytes = dxf::write(&drawing)?;
            Ok(file("stiffener.dxf", "the piece at full scale, for cutting tables", bytes))
        }),
        Box::new(|| {
            let bytes = svg::write(&strain_picture::draw(stiffener), MARGIN)?.into_bytes();
            Ok(file("strain.svg", "where the material stretches and where it has fullness", bytes))
        }),
        Box::new(|| {
            let mut bytes = serde_json::to_vec_pretty(&drafted.report)?;
            bytes.push(b'\n');
            Ok(file("report.json", "dimensions, checks and strain, for other programs", bytes))
        }),
        Box::new(|| {
            Ok(file(
                "surfaces/on-last.obj",
                "the wall of the piece on the bare last",
                surfaces::on_last(stiffener),
            ))
        }),
        Box::new(|| {
            Ok(file(
                "surfaces/where-it-lies.obj",
                "the same outside the lining",
                surfaces::where_it_lies(stiffener),
            ))
        }),
        Box::new(|| Ok(file("surfaces/flat.obj", "the same laid flat", surfaces::flat(stiffener)))),
        Box::new(|| {
            Ok(file(
                "surfaces/last.obj",
                "the last, standing, in mm",
                surfaces::last(&drafted.last),
            ))
        }),
    ];
    makers.par_iter().map(|make| make()).collect()
}
