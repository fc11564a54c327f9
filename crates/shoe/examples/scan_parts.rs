//! Reads a scan, mends, thins, stands and measures it; prints as JSON how long each took, in
//! seconds, and how many triangles there were.
//!
//! `scan_parts SCAN`

use std::path::Path;
use std::time::Instant;
use std::{env, process};

use serde_json::{Value, json};
use shoe::last::measure::measure;
use shoe::last::mend::{mend, thinned};
use shoe::last::scan::stand_mended;
use shoe::last::stand::Given;

fn main() {
    match run(&env::args().skip(1).collect::<Vec<_>>()) {
        #[allow(clippy::print_stdout, reason = "printing is what this program is for")]
        Ok(parts) => println!("{parts}"),
        Err(message) => {
            eprintln!("{message}");
            process::exit(1);
        }
    }
}

fn run(arguments: &[String]) -> Result<Value, String> {
    let [path] = arguments else { return Err("write: scan_parts SCAN".into()) };
    let given = Given::nothing();
    let begun = Instant::now();
    let scan = geometry::read::read_mesh(Path::new(path)).map_err(told)?.value.mesh;
    let read = Instant::now();
    let mended = mend(&scan).map_err(told)?;
    let mend = Instant::now();
    let thin = thinned(&mended.mesh, &given).map_err(told)?;
    let worked_on = thin.as_ref().map_or(mended.mesh.triangles.len(), |t| t.mesh.triangles.len());
    let thinned = Instant::now();
    let standing = stand_mended(mended, thin, &given).map_err(told)?.value;
    let stood = Instant::now();
    let measures = measure(&standing.last, &standing.scan, None).value;
    let measured = Instant::now();
    let seconds = |from: Instant, to: Instant| (to - from).as_secs_f64();
    Ok(json!({
        "triangles": scan.triangles.len(),
        "worked_on": worked_on,
        "length": measures.length,
        "seconds": {
            "read": seconds(begun, read),
            "mend": seconds(read, mend),
            "thin": seconds(mend, thinned),
            "stand": seconds(thinned, stood),
            "measure": seconds(stood, measured),
        },
    }))
}

fn told(error: impl std::error::Error) -> String {
    let mut words = error.to_string();
    let mut cause = error.source();
    while let Some(why) = cause {
        words += &format!(": {why}");
        cause = why.source();
    }
    words
}
