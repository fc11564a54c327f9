//! Writes a binary STL of an invented last as a scanner delivers it: 0.1 mm of noise, open at the
//! top, in any pose. Prints how many triangles it has.
//!
//! `noisy_scan ABOUT_HOW_MANY_TRIANGLES OUT.stl`

#[path = "../benches/noisy/mod.rs"]
mod noisy;

use std::{env, fs, process};

use geometry::mesh::write::write_stl_binary;

fn main() {
    match run(&env::args().skip(1).collect::<Vec<_>>()) {
        #[allow(clippy::print_stdout, reason = "its result")]
        Ok(triangles) => println!("{triangles}"),
        Err(message) => {
            eprintln!("{message}");
            process::exit(1);
        }
    }
}

fn run(arguments: &[String]) -> Result<usize, String> {
    let [triangles, path] = arguments else {
        return Err("write: noisy_scan ABOUT_HOW_MANY_TRIANGLES OUT.stl".into());
    };
    let wanted = triangles.parse::<usize>().map_err(|error| format!("{triangles}: {error}"))?;
    let scan = noisy::noisy_scan(wanted);
    let mut bytes = Vec::new();
    write_stl_binary(&scan, &mut bytes).map_err(|error| error.to_string())?;
    fs::write(path, bytes).map_err(|error| format!("{path}: {error}"))?;
    Ok(scan.triangles.len())
}
