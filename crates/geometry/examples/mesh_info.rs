//! Prints what a mesh file holds, as JSON: for checks by other programs.
//!
//! `mesh_info FILE` reads only; `mesh_info FILE --tidy TOLERANCE` cleans it as well;
//! `--clean` cleans it by the tolerance that lasts are cleaned by, and cuts off what it stood on;
//! `--refine LENGTH` and `--smooth` make it finer; `--write OUT.obj` (or .ply, .stl) saves it.

mod program;

use std::fmt::Display;
use std::path::Path;
use std::process::ExitCode;
use std::time::Instant;

use geometry::mesh::repair::Repair;
use geometry::mesh::{TriMesh, base, refine, subdivide, tidy, write};
use geometry::read::read_mesh;
use geometry::warned::Warning;

/// Points nearer than this share of the diagonal are one point: as for a scanned last.
const WELD_SHARE: f64 = 1e-6;

/// Options without a value.
const ALONE: [&str; 2] = ["--smooth", "--clean"];

fn main() -> ExitCode {
    program::ended(run)
}

fn run(arguments: &[String]) -> Result<String, String> {
    let (file, mut rest) = arguments.split_first().ok_or("name a mesh file")?;
    let begin = Instant::now();
    let read = read_mesh(Path::new(file)).map_err(text)?;
    let seconds = begin.elapsed().as_secs_f64();
    let (mut mesh, unit, mut warnings) = (read.value.mesh, read.value.unit, read.warnings);
    let mut repairs: Vec<Repair> = Vec::new();
    while let Some((option, after)) = rest.split_first() {
        let value = || after.first().ok_or(format!("{option} needs a value"));
        rest = &after[usize::from(!ALONE.contains(&option.as_str())).min(after.len())..];
        match option.as_str() {
            "--smooth" => mesh = subdivide::subdivide_smooth(&mesh),
            "--refine" => mesh = refine::refine(&mesh, value()?.parse().map_err(text)?),
            "--tidy" => {
                let tidied = tidy::tidy(&mesh, value()?.parse().map_err(text)?).map_err(text)?;
                mesh = tidied.mesh;
                warnings.extend(tidied.repairs.iter().cloned().map(Warning::from));
                repairs.extend(tidied.repairs);
            }
            "--clean" => {
                let diagonal = mesh.bounds().map_or(0.0, |(low, high)| low.distance(high));
                let tidied = tidy::tidy(&mesh, WELD_SHARE * diagonal).map_err(text)?;
                let cut = base::cut_base(&tidied.mesh);
                mesh = cut.mesh;
                repairs.extend(tidied.repairs.into_iter().chain(cut.repairs));
            }
            "--write" => save(&mesh, value()?).map_err(text)?,
            _ => return Err(format!("unknown option {option}")),
        }
    }
    let total = begin.elapsed().as_secs_f64();
    Ok(format!(
        "{}, \"unit\": {}, \"warnings\": [{}], \"repairs\": {}, \"read_seconds\": {seconds}, \"seconds\": {total}}}",
        measures(&mesh),
        unit.map_or("null".to_owned(), |unit| format!("\"{unit}\"")),
        warnings.iter().map(quote).collect::<Vec<_>>().join(", "),
        serde_json::to_string(&repairs).map_err(text)?
    ))
}

fn text(error: impl Display) -> String {
    error.to_string()
}

fn quote(warning: &Warning) -> String {
    format!("\"{}\"", warning.message.replace('\\', "\\\\").replace('"', "\\\""))
}

fn save(mesh: &TriMesh, name: &str) -> std::io::Result<()> {
    let out = std::io::BufWriter::new(std::fs::File::create(name)?);
    match Path::new(name).extension().and_then(|e| e.to_str()) {
        Some("stl") => write::write_stl_binary(mesh, out),
        Some("ply") => write::write_ply(mesh, out),
        _ => write::write_obj(mesh, out),
    }
}

fn measures(mesh: &TriMesh) -> String {
    let (low, high) = mesh.bounds().unwrap_or_default();
    format!(
        "{{\"vertices\": {}, \"triangles\": {}, \"area\": {}, \"volume\": {}, \"bounds\": [{:?}, {:?}]",
        mesh.positions.len(),
        mesh.triangles.len(),
        mesh.face_areas().iter().sum::<f64>(),
        mesh.signed_volume(),
        low.to_array(),
        high.to_array()
    )
}
