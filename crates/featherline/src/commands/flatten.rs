//! `featherline flatten`: lays one disk-shaped surface flat.

use std::fmt::Write as _;
use std::path::PathBuf;
use std::process::ExitCode;
use std::time::Instant;

use anyhow::Context;
use flatten::{Flattening, Options};
use geometry::mesh::TriMesh;

use super::relief::{self, Relief};
use crate::memory;
use crate::one_file;
use crate::output;
use crate::progress::Progress;

/// Flatten one disk-shaped surface with the least strain
#[derive(clap::Args)]
pub(crate) struct Flatten {
    /// The surface to flatten: STL, OBJ, PLY or 3MF
    mesh: PathBuf,
    /// Where the flat mesh goes (OBJ, z = 0, vertices and triangles in the order read, but for
    /// --relief-cuts)
    #[arg(long)]
    out: PathBuf,
    /// Print the result as JSON on standard output
    #[arg(long)]
    json: bool,
    #[command(flatten)]
    relief: Relief,
}

/// What `--json` prints.
#[derive(serde::Serialize)]
struct Report {
    triangles: usize,
    /// Area-weighted mean of (s - 1/s)² over both singular values.
    energy: f64,
    /// Percent, as the next two.
    mean_strain: f64,
    p95_strain: f64,
    p99_strain: f64,
    flipped: usize,
    overlaps: usize,
    /// Whether edges that would overlap were kept apart, which costs strain.
    kept_apart: bool,
    iterations: usize,
    /// Of flattening alone, without reading and writing; with relief cuts, the search included.
    seconds: f64,
    /// The most memory the program had in use, reading included; null where the system does
    /// not tell.
    memory_mb: Option<f64>,
    #[serde(flatten, skip_serializing_if = "Option::is_none")]
    cuts: Option<relief::Cuts>,
}

impl Flatten {
    pub(crate) fn run(self) -> anyhow::Result<ExitCode> {
        one_file::refuse_place(&self.mesh, &self.out, "--out")?;
        let read = geometry::read::read_mesh(&self.mesh)?;
        output::warn(&read.warnings);
        let mesh = read.value.mesh;

        let progress = Progress::start(format!("laying {} flat", self.mesh.display()));
        let begin = Instant::now();
        let cannot = || format!("{}: cannot be laid flat", self.mesh.display());
        let (mesh, flat, cuts) =
            match self.relief.suggest(&self.mesh, &mesh).with_context(cannot)? {
                Some((found, cuts)) => (found.mesh, found.cut, Some(cuts)),
                None => {
                    let flat = flatten::flatten(&mesh, &Options::default()).with_context(cannot)?;
                    (mesh, flat, None)
                }
            };
        let seconds = begin.elapsed().as_secs_f64();
        drop(progress);
        if !flat.converged {
            eprintln!(
                "warning: {}: stopped after {} steps before the least strain was reached",
                self.mesh.display(),
                flat.iterations
            );
        }

        if flat.overlaps > 0 {
            eprintln!(
                "warning: {}: no flat piece was found that does not overlap itself; part the surface in \
                 two, or cut into it, and lay the parts flat",
                self.mesh.display()
            );
        }
        if flat.kept_apart {
            eprintln!(
                "warning: {}: edges that would overlap were kept apart, which strains the piece more; \
                 part the surface in two for less strain",
                self.mesh.display()
            );
        }

        one_file::write(&self.out, flat_obj(&mesh, &flat).as_bytes(), "--out")?;

        let report = Report {
            triangles: mesh.triangles.len(),
            energy: flat.energy,
            mean_strain: flat.strain.mean,
            p95_strain: flat.strain.p95,
            p99_strain: flat.strain.p99,
            flipped: flat.flipped,
            overlaps: flat.overlaps,
            kept_apart: flat.kept_apart,
            iterations: flat.iterations,
            seconds,
            memory_mb: memory::peak_mb(),
            cuts,
        };
        let text =
            if self.json { serde_json::to_string_pretty(&report)? } else { self.summary(&report) };
        output::say(&text);
        Ok(ExitCode::SUCCESS)
    }

    fn summary(&self, report: &Report) -> String {
        let mut text = format!(
            "{}: {} triangles laid flat in {:.2} s\n  strain: {:.2} % on average; 95 % of the area \
             below {:.2} %, 99 % below {:.2} %\n",
            self.out.display(),
            report.triangles,
            report.seconds,
            report.mean_strain,
            report.p95_strain,
            report.p99_strain,
        );
        text.push_str(&match report.overlaps {
            0 => "  it lies flat without overlapping itself".to_string(),
            n => format!("  it overlaps itself: its edge crosses itself in {n} place(s)"),
        });
        if let Some(cuts) = &report.cuts {
            text.push_str(&cuts.summary(report.p99_strain));
        }
        text
    }
}

/// The flat mesh as OBJ text; coordinates are written so that they read back exactly.
fn flat_obj(mesh: &TriMesh, flat: &Flattening) -> String {
    let mut text = String::from("# flat, mm\n");
    for p in &flat.points {
        let _ = writeln!(text, "v {} {} 0", p.x, p.y);
    }
    for [a, b, c] in &mesh.triangles {
        let _ = writeln!(text, "f {} {} {}", a + 1, b + 1, c + 1);
    }
    text
}
