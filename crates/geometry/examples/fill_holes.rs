//! Fills the holes of a mesh file, for checks by other programs:
//! `fill_holes IN OUT.ply LARGEST [KEEP_OPEN]`, both parts of the span.
//!
//! Prints what was done and the seconds as JSON. The mesh is taken as it is: joined by exactly
//! equal points, and not tidied otherwise.

mod program;

use std::path::Path;
use std::process::ExitCode;
use std::time::Instant;

use geometry::mesh::holes::{Filled, Limits, fill_holes};
use geometry::mesh::weld::weld;
use geometry::mesh::write::write_ply;
use geometry::read::read_mesh;

fn main() -> ExitCode {
    program::ended(run)
}

fn run(arguments: &[String]) -> Result<String, String> {
    let (from, to, largest, keep_open) = match arguments {
        [from, to, largest] => (from, to, largest, None),
        [from, to, largest, keep] => (from, to, largest, Some(number(keep)?)),
        _ => return Err("these words are needed: IN OUT.ply LARGEST [KEEP_OPEN]".to_owned()),
    };
    let limits = Limits { keep_open, largest: number(largest)? };
    let mesh = read_mesh(Path::new(from)).map_err(|e| e.to_string())?.value.mesh;
    let mesh = weld(&mesh, 0.0);
    let begin = Instant::now();
    let filled = fill_holes(&mesh, &limits).map_err(|e| e.to_string())?;
    let seconds = begin.elapsed().as_secs_f64();
    let file = std::fs::File::create(to).map_err(|e| format!("{to}: {e}"))?;
    write_ply(&filled.mesh, std::io::BufWriter::new(file)).map_err(|e| format!("{to}: {e}"))?;
    Ok(told(&filled, mesh.positions.len(), seconds))
}

fn number(word: &str) -> Result<f64, String> {
    word.parse().map_err(|e| format!("{word}: {e}"))
}

fn told(filled: &Filled, old: usize, seconds: f64) -> String {
    let repair = |r: &geometry::mesh::repair::Repair| {
        let places: Vec<[f64; 3]> = r.places.iter().map(|p| p.to_array()).collect();
        format!(
            "{{\"kind\": \"{:?}\", \"count\": {}, \"places\": {places:?}, \"message\": \"{}\"}}",
            r.kind, r.count, r.message
        )
    };
    let repairs: Vec<String> = filled.repairs.iter().map(repair).collect();
    let opening = filled.opening.as_ref();
    format!(
        "{{\"old_vertices\": {old}, \"repairs\": [{}], \"opening\": {}, \"seconds\": {seconds}}}",
        repairs.join(", "),
        opening.map_or("null".to_owned(), |o| o.extent.to_string())
    )
}
