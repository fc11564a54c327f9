//! Moves the surface in a file, for checks by other programs: `offset IN DISTANCE REACH OUT.obj`.
//!
//! Prints the triangles, the stated error, what is folded or bent too tightly and the seconds, as
//! JSON.

mod program;

use std::path::Path;
use std::process::ExitCode;
use std::time::Instant;

use geometry::mesh::write::write_obj;
use geometry::read::read_mesh;
use geometry::surface::offset;

fn main() -> ExitCode {
    program::ended(run)
}

fn run(arguments: &[String]) -> Result<String, String> {
    let [from, distance, reach, to] = arguments else {
        return Err("four words are needed: IN DISTANCE REACH OUT.obj".to_owned());
    };
    let number = |word: &String| word.parse::<f64>().map_err(|e| format!("{word}: {e}"));
    let (distance, reach) = (number(distance)?, number(reach)?);
    let mesh = read_mesh(Path::new(from)).map_err(|e| e.to_string())?.value.mesh;
    let begin = Instant::now();
    let moved = offset(&mesh, distance, reach);
    let seconds = begin.elapsed().as_secs_f64();
    let file = std::fs::File::create(to).map_err(|e| format!("{to}: {e}"))?;
    write_obj(&moved.value.mesh, std::io::BufWriter::new(file))
        .map_err(|e| format!("{to}: {e}"))?;
    let tight: Vec<String> = moved
        .value
        .tight
        .iter()
        .map(|t| {
            let [x, y, z] = t.place.to_array();
            format!("{{\"place\": [{x}, {y}, {z}], \"area\": {}}}", t.area)
        })
        .collect();
    Ok(format!(
        "{{\"triangles\": {}, \"error\": {}, \"folded\": {}, \"tight\": [{}], \
         \"warnings\": {}, \"seconds\": {seconds}}}",
        mesh.triangles.len(),
        moved.value.error,
        moved.value.folded.len(),
        tight.join(", "),
        moved.warnings.len()
    ))
}
