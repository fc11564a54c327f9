//! Reduces the mesh in a file, for checks by other programs: `decimate IN TOLERANCE OUT.ply`.
//!
//! Prints the triangles before and after, the measured error and the seconds, as JSON.

mod program;

use std::path::Path;
use std::process::ExitCode;
use std::time::Instant;

use geometry::mesh::decimate::decimate;
use geometry::mesh::write::write_ply;
use geometry::read::read_mesh;

fn main() -> ExitCode {
    program::ended(run)
}

fn run(arguments: &[String]) -> Result<String, String> {
    let [from, tolerance, to] = arguments else {
        return Err("three words are needed: IN TOLERANCE OUT.ply".to_owned());
    };
    let tolerance: f64 = tolerance.parse().map_err(|e| format!("{tolerance}: {e}"))?;
    let mesh = read_mesh(Path::new(from)).map_err(|e| e.to_string())?.value.mesh;
    let begin = Instant::now();
    let fewer = decimate(&mesh, tolerance);
    let seconds = begin.elapsed().as_secs_f64();
    let file = std::fs::File::create(to).map_err(|e| format!("{to}: {e}"))?;
    write_ply(&fewer.mesh, std::io::BufWriter::new(file)).map_err(|e| format!("{to}: {e}"))?;
    Ok(format!(
        "{{\"before\": {}, \"after\": {}, \"error\": {}, \"seconds\": {seconds}}}",
        mesh.triangles.len(),
        fewer.mesh.triangles.len(),
        fewer.error
    ))
}
