//! The files of a range: each size on its own, all pieces in one document, the sizes over each
//! other, and the grade table.

mod instructions;

use std::fs;
use std::path::Path;

use cutting::pdf::{self, PageOptions, Paper, TileOptions};
use cutting::sheet;
use cutting::{dxf, svg};
use geometry::drawing::Drawing;
use geometry::mesh::write::write_stl_binary;
use rayon::prelude::*;
use serde_json::{Value, json};
use shoe::foot::Foot;
use shoe::last::stand::Last;
use shoe::range::{GradeTable, Piece, Wanted, nest};
use shoe::reasons::Verdict;
use shoe::size::Size;
use shoe::stiffener::{piece, size_nicks};

use super::{File, MARGIN, json_bytes, measured_svg, surfaces, write_all};

/// Before the fitting in the name of a file.
const FITTING: &str = "-fitting-";

/// The files of a range that do not belong to one size, without the foot.
const TOGETHER: [&str; 5] =
    ["range.pdf", "grade.json", "all-pieces.pdf", "nest-left", "nest-right"];

/// How size, fitting and foot begin the names of their files: `EU-36-right`,
/// `EU-36-fitting-7-right`.
pub(crate) fn prefix(wanted: &Wanted) -> String {
    let size = wanted.size.to_string().replace(' ', "-");
    let fitting = wanted.fitting.map(|f| format!("{FITTING}{f}")).unwrap_or_default();
    format!("{size}{fitting}-{}", wanted.foot)
}

/// The same of a piece that may serve several sizes: `EU-36-to-37-right`.
pub(crate) fn prefix_of(piece: &Piece) -> String {
    let own = prefix(&piece.wanted);
    let size = piece.wanted.size.to_string().replace(' ', "-");
    own.replacen(&size, &piece.served_in_words().replace(' ', "-"), 1)
}

/// The last of one size and foot.
fn last_of(piece: &Piece) -> anyhow::Result<File> {
    let mut bytes = Vec::new();
    write_stl_binary(&piece.drafted.last.mesh, &mut bytes)?;
    let name = format!("{}-last.stl", prefix(&piece.wanted));
    Ok(File { name, what: "the graded last, standing, in mm".into(), bytes })
}

/// The files of one piece, without its last.
fn of_one(piece: &Piece) -> anyhow::Result<Vec<File>> {
    let prefix = prefix_of(piece);
    let drafted = &piece.drafted;
    let drawing = drawing(piece);
    let tiled = pdf::write_tiled(&drawing, Paper::A4, TileOptions::default())?;
    let file = |ending: &str, what: &str, bytes: Vec<u8>| File {
        name: format!("{prefix}{ending}"),
        what: what.to_owned(),
        bytes,
    };
    Ok(vec![
        file(
            ".pdf",
            "the piece at full scale on one page",
            pdf::write_page(&drawing, PageOptions::default())?,
        ),
        file("-a4.pdf", &format!("the piece at full scale on {}", tiled.layout), tiled.bytes),
        file(
            ".svg",
            "the piece at full scale, for drawing programs and lasers",
            measured_svg(&drawing)?,
        ),
        file(".dxf", "the piece at full scale, for cutting tables", dxf::write(&drawing)?),
        file(
            ".json",
            "dimensions, checks and strain, for other programs",
            json_bytes(&drafted.report)?,
        ),
        file(
            "-wall.obj",
            "the wall of the piece on the bare last",
            surfaces::on_last(&drafted.stiffener),
        ),
    ])
}

/// The files of all sizes together.
fn together(pieces: &[Piece], job_name: &str) -> anyhow::Result<Vec<File>> {
    let drawings: Vec<Drawing> = pieces.par_iter().map(drawing).collect();
    let title = format!("{job_name}: heel stiffeners, all sizes");
    let file =
        |name: String, what: &str, bytes: Vec<u8>| File { name, what: what.to_owned(), bytes };
    let json = json_bytes(&as_json(pieces, job_name))?;
    let mut files = vec![
        file(
            "range.pdf".into(),
            "the sizes over each other, and the grade table",
            sheet::write(&instructions::sheet(pieces, job_name), Paper::A4)?,
        ),
        file(
            "all-pieces.pdf".into(),
            "every piece at full scale, a page each",
            pdf::write_pages(&title, &drawings, PageOptions::default())?,
        ),
        file("grade.json".into(), "each dimension by size, for other programs", json),
    ];
    for foot in feet(pieces) {
        let nest = nest(pieces, foot, job_name);
        files.extend([
            file(
                format!("nest-{foot}.pdf"),
                "the sizes over each other at full scale",
                pdf::write_page(&nest, PageOptions::default())?,
            ),
            file(
                format!("nest-{foot}.svg"),
                "the same for drawing programs",
                svg::write(&nest, MARGIN)?.into_bytes(),
            ),
            file(format!("nest-{foot}.dxf"), "the same for cutting tables", dxf::write(&nest)?),
        ]);
    }
    Ok(files)
}

/// Every file, in the order in which they are told.
fn files(pieces: &[Piece], own: &[Piece], job_name: &str) -> anyhow::Result<Vec<File>> {
    let each: Vec<Vec<File>> = pieces.par_iter().map(of_one).collect::<anyhow::Result<_>>()?;
    let lasts: Vec<File> = own.par_iter().map(last_of).collect::<anyhow::Result<_>>()?;
    let mut files: Vec<File> = each.into_iter().flatten().chain(lasts).collect();
    files.extend(together(pieces, job_name)?);
    Ok(files)
}

/// Writes every file into `folder`; those of an older range go. `own` are the pieces of each size, whose
/// lasts are written: the same as `pieces`, unless these serve several sizes.
pub(crate) fn write(
    pieces: &[Piece],
    own: &[Piece],
    job_name: &str,
    folder: &Path,
) -> anyhow::Result<Vec<File>> {
    let files = files(pieces, own, job_name)?;
    write_all(folder, &files, &stale(folder, &files))?;
    Ok(files)
}

/// Makes the file of a name alone; `None` where there is no such file.
#[cfg(feature = "workbench")]
pub(crate) fn make_one(
    pieces: &[Piece],
    job_name: &str,
    name: &str,
) -> anyhow::Result<Option<File>> {
    let of_size = pieces.iter().find(|piece| {
        name.strip_prefix(&prefix(&piece.wanted)).is_some_and(|end| end.starts_with(['.', '-']))
    });
    let files = match of_size {
        Some(piece) => {
            let mut files = of_one(piece)?;
            files.push(last_of(piece)?);
            files
        }
        None => together(pieces, job_name)?,
    };
    Ok(files.into_iter().find(|file| file.name == name))
}

/// Files of a range that an older draft left in `folder` and this one does not write.
fn stale(folder: &Path, files: &[File]) -> Vec<String> {
    let Ok(entries) = fs::read_dir(folder) else { return Vec::new() };
    let mut stale: Vec<String> = entries
        .flatten()
        .filter(|entry| entry.file_type().is_ok_and(|kind| kind.is_file()))
        .filter_map(|entry| entry.file_name().into_string().ok())
        .filter(|name| is_of_a_range(name) && files.iter().all(|file| file.name != *name))
        .collect();
    stale.sort();
    stale
}

/// Whether a range gives a file this name: `EU-36-right-a4.pdf`, `nest-left.svg`.
fn is_of_a_range(name: &str) -> bool {
    const ENDINGS: [&str; 7] =
        [".pdf", "-a4.pdf", ".svg", ".dxf", ".json", "-last.stl", "-wall.obj"];
    let of_a_size = ["-left", "-right"].iter().any(|foot| {
        name.split_once(foot).is_some_and(|(size, ending)| {
            let size = size.split(FITTING).next().unwrap_or(size);
            // A piece for several is named by the smallest and the number of the largest.
            let size = size.split("-to-").next().unwrap_or(size);
            ENDINGS.contains(&ending) && size.replace('-', " ").parse::<Size>().is_ok()
        })
    });
    of_a_size || TOGETHER.iter().any(|start| name.starts_with(start))
}

fn drawing(piece: &Piece) -> Drawing {
    piece::draw(&piece.drafted.stiffener, &piece.drafted.report.job)
}

fn feet(pieces: &[Piece]) -> impl Iterator<Item = Foot> {
    let has = |foot| pieces.iter().any(|p| p.wanted.foot == foot);
    let feet = [Foot::Left, Foot::Right].map(|foot| has(foot).then_some(foot));
    feet.into_iter().flatten()
}

/// What `grade.json` holds, and what `draft --sizes --json` prints.
pub(crate) fn as_json(pieces: &[Piece], job_name: &str) -> Value {
    let all: Vec<Value> = pieces
        .iter()
        .map(|piece| {
            let drafted = &piece.drafted;
            json!({
                "size": piece.wanted.size,
                "fitting": piece.wanted.fitting.map(|fitting| fitting.to_string()),
                "foot": piece.wanted.foot,
                "files": prefix_of(piece),
                "serves": piece.shared.as_ref().map(|shared| &shared.costs),
                "standard_last_length": drafted.last.standard_last_length,
                "heel_height": drafted.last.heel_height,
                "marks": marks(&drafted.last),
                "size_nicks": size_nicks::in_words(piece.wanted.size)
                    .filter(|_| !drafted.stiffener.size_nicks.is_empty()),
                "back_height": drafted.stiffener.edge.back_height,
                "checks": {
                    "hold": drafted.count(Verdict::Pass),
                    "open": drafted.count(Verdict::Unsure),
                    "failed": drafted.count(Verdict::Fail),
                },
                "strain": drafted.report.strain,
                "warnings": piece.warnings.iter().map(|w| json!({
                    "place": w.place, "message": w.message, "hint": w.hint,
                })).collect::<Vec<_>>(),
            })
        })
        .collect();
    let tables = GradeTable::all(pieces);
    json!({ "schema": 1, "job": job_name, "pieces": all, "tables": tables })
}

/// The marks of a graded last, in the coordinates of its file: to go on from it as a base.
fn marks(last: &Last) -> Value {
    let marks = &last.marks;
    json!({
        "seat": marks.seat.at,
        "joint_medial": marks.joint_medial.at,
        "joint_lateral": marks.joint_lateral.at,
        "waist": marks.waist.at,
        "instep": marks.instep.at,
        "vamp": marks.vamp.at,
        "toe": marks.toe.at,
        "top_front": marks.top_front.at,
        "top_back": marks.top_back.at,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn files_of_a_range_are_told_from_others() {
        for name in [
            "EU-36-right.pdf",
            "UK-child-10.5-left-a4.pdf",
            "US-women-gauge-8-left-last.stl",
            "EU-36-fitting-7-right.svg",
            "nest-left.svg",
            "grade.json",
        ] {
            assert!(is_of_a_range(name), "{name}");
        }
        for name in ["EU-36-right.doc", "EU-99-right.pdf", "my-right.pdf", "stiffener.pdf"] {
            assert!(!is_of_a_range(name), "{name}");
        }
    }
}
