//! Everything a drafted job leaves behind: patterns on paper, files for machines, the sheet of
//! instructions and the report.

mod folder;
mod instructions;
pub(crate) mod measures;
pub(crate) mod pair;
pub(crate) mod range;
mod stage;
mod surfaces;

use cutting::pdf::{self, PageOptions, Paper, TileOptions};
use cutting::{check_line, dxf, sheet, svg};
use geometry::drawing::Drawing;
use rayon::prelude::*;
use serde::Serialize;
use shoe::draft::Drafted;
use shoe::stiffener::{piece, strain_picture};

pub(crate) use folder::write_all;

/// Clear space round a drawing, mm.
const MARGIN: f64 = 10.0;

/// One file to write.
pub(crate) struct File {
    /// Name below the folder of the patterns; a slash makes a folder.
    pub(crate) name: String,
    /// What it is, for people.
    pub(crate) what: String,
    pub(crate) bytes: Vec<u8>,
}

/// The papers that the piece is spread over, each with the name of its file.
pub(crate) const TILED: [(Paper, &str); 2] =
    [(Paper::A4, "stiffener-a4.pdf"), (Paper::Letter, "stiffener-letter.pdf")];

/// A writer of one file.
struct Maker<'a> {
    name: &'static str,
    /// What the file is, for people, and its bytes.
    make: Box<dyn Fn() -> anyhow::Result<(String, Vec<u8>)> + Send + Sync + 'a>,
}

impl Maker<'_> {
    fn file(&self) -> anyhow::Result<File> {
        let (what, bytes) = (self.make)()?;
        Ok(File { name: self.name.to_owned(), what, bytes })
    }
}

/// Makes every file, side by side on as many threads as there are; the bytes do not depend on
/// their number.
pub(crate) fn make(drafted: &Drafted) -> anyhow::Result<Vec<File>> {
    let drawing = piece::draw(&drafted.stiffener, &drafted.report.job);
    makers(drafted, &drawing).par_iter().map(Maker::file).collect()
}

/// Makes the file of a name alone; `None` where there is no such file.
#[cfg(feature = "workbench")]
pub(crate) fn make_one(drafted: &Drafted, name: &str) -> anyhow::Result<Option<File>> {
    let drawing = piece::draw(&drafted.stiffener, &drafted.report.job);
    makers(drafted, &drawing).iter().find(|maker| maker.name == name).map(Maker::file).transpose()
}

fn makers<'a>(drafted: &'a Drafted, drawing: &'a Drawing) -> Vec<Maker<'a>> {
    fn maker<'a>(
        name: &'static str,
        what: &'static str,
        bytes: impl Fn() -> anyhow::Result<Vec<u8>> + Send + Sync + 'a,
    ) -> Maker<'a> {
        Maker { name, make: Box::new(move || Ok((what.to_owned(), bytes()?))) }
    }
    let tiled = |(paper, name)| Maker {
        name,
        make: Box::new(move || {
            let tiled = pdf::write_tiled(drawing, paper, TileOptions::default())?;
            Ok((format!("the piece at full scale on {}", tiled.layout), tiled.bytes))
        }),
    };
    let stiffener = &drafted.stiffener;
    let mut all = vec![
        maker("instructions.pdf", "how to cut it, and why every number is what it is", || {
            Ok(sheet::write(&instructions::sheet(drafted), Paper::A4)?)
        }),
        maker("stiffener.pdf", "the piece at full scale on one page", || {
            Ok(pdf::write_page(drawing, PageOptions::default())?)
        }),
    ];
    all.extend(TILED.map(tiled));
    all.extend([
        maker("stiffener.svg", "the piece at full scale, for drawing programs and lasers", || {
            measured_svg(drawing)
        }),
        maker("stiffener.dxf", "the piece at full scale, for cutting tables", || {
            Ok(dxf::write(drawing)?)
        }),
        maker("strain.svg", "where the material stretches and where it has fullness", || {
            Ok(svg::write(&strain_picture::draw(stiffener), MARGIN)?.into_bytes())
        }),
        maker("report.json", "dimensions, checks and strain, for other programs", || {
            json_bytes(&drafted.report)
        }),
        maker("surfaces/on-last.obj", "the wall of the piece on the bare last", || {
            Ok(surfaces::on_last(stiffener))
        }),
        maker("surfaces/where-it-lies.obj", "the same outside the lining", || {
            Ok(surfaces::where_it_lies(stiffener))
        }),
        maker("surfaces/flat.obj", "the same laid flat", || Ok(surfaces::flat(stiffener))),
        maker("surfaces/last.obj", "the last, standing, in mm", || {
            Ok(surfaces::last(&drafted.last))
        }),
    ]);
    all
}

/// A piece as SVG with a check line beneath it.
fn measured_svg(drawing: &Drawing) -> anyhow::Result<Vec<u8>> {
    let mut measured = drawing.clone();
    let low = drawing.bounds().map_or_else(Default::default, |(low, _)| low);
    measured.items.extend(check_line::below(low));
    Ok(svg::write(&measured, MARGIN)?.into_bytes())
}

/// A report as the text of a file.
fn json_bytes(report: &impl Serialize) -> anyhow::Result<Vec<u8>> {
    let mut bytes = serde_json::to_vec_pretty(report)?;
    bytes.push(b'\n');
    Ok(bytes)
}
