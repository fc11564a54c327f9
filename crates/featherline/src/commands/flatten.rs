//! `featherline flatten`: lays one disk-shaped surface flat.

use std::fmt::Write as _;
use std::path::PathBuf;
use std::process::ExitCode;
use std::time::Instant;

use anyhow::Context;
use flatten::{Flattening, Material, Options};
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
    /// What the sheet is made of: a name, then numbers of your own if they differ, such as
    /// board,stretch=2,compress=0.5
    ///
    /// Names: wet-leather (lasted wet), dry-leather, board (fibreboard, damp), hot-thermoplastic
    /// (lasted hot), plain (no limits).
    ///
    /// Numbers: stretch and compress, how far the sheet stretches and can be compressed, in
    /// percent of its length, or none for no limit; along, how many times as stiff it is along
    /// the grain as across; thickness in mm. What is compressed further than the sheet takes
    /// stands up in pipes. The numbers that come with a name are common practice without a
    /// source: try a strip of your own sheet and give what you measure.
    #[arg(long, value_name = "NAME[,KEY=NUMBER...]", verbatim_doc_comment)]
    material: Option<String>,
    /// Which way the grain (or the warp, or the run of the sheet) lies in the flat piece, in
    /// degrees to the left of the line that points right on the drawing; needs --material
    #[arg(long, value_name = "DEG", requires = "material", allow_negative_numbers = true)]
    grain: Option<f64>,
    /// Spread the strain, so that the worst places are strained less and the rest a little more
    #[arg(long)]
    worst_strain: bool,
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
    /// Percent of the area that must stretch or be compressed beyond the limits of the material;
    /// null without one.
    area_over_limit: Option<f64>,
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
        let options = self.options()?;
        let read = geometry::read::read_mesh(&self.mesh)?;
        output::warn(&read.warnings);
        let mesh = read.value.mesh;

        let progress = Progress::start(format!("laying {} flat", self.mesh.display()));
        let begin = Instant::now();
        let cannot = || format!("{}: cannot be laid flat", self.mesh.display());
        let (mesh, flat, cuts) = match self
            .relief
            .suggest(&self.mesh, &mesh, &options, &progress)
            .with_context(cannot)?
        {
            Some((found, cuts)) => (found.mesh, found.cut, Some(cuts)),
            None => {
                let flat = flatten::flatten(&mesh, &options).with_context(cannot)?;
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
            area_over_limit: flat.area_over_limit,
            flipped: flat.flipped,
            overlaps: flat.overlaps,
            kept_apart: flat.kept_apart,
            iterations: flat.iterations,
            seconds,
            memory_mb: memory::peak_mb(),
            cuts,
        };
        let text = if self.json {
            serde_json::to_string_pretty(&report)?
        } else {
            self.summary(&report, options.material.as_ref())
        };
        output::say(&text);
        Ok(ExitCode::SUCCESS)
    }

    fn options(&self) -> anyhow::Result<Options> {
        let material =
            self.material.as_deref().map(str::parse).transpose().context("--material")?;
        Ok(Options {
            material,
            grain: self.grain.unwrap_or_default(),
            worst_strain: self.worst_strain,
            ..Options::default()
        })
    }

    fn summary(&self, report: &Report, material: Option<&Material>) -> String {
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
        if let (Some(over), Some(material)) = (report.area_over_limit, material) {
            let _ = writeln!(text, "  {}: {}", material.name, beyond(over, material));
        }
        text.push_str(&match report.overlaps {
            0 => "  it lies flat without overlapping itself".to_string(),
            n => format!("  it overlaps itself: its edge crosses itself in {n} place(s)"),
        });
        if let Some(cuts) = &report.cuts {
            text.push_str(&cuts.summary(report.p99_strain, material));
        }
        text
    }
}

/// How much of the piece is beyond the limits of its material, in words.
fn beyond(over: f64, material: &Material) -> String {
    limits(material).map_or("no limits given".into(), |limits| {
        format!("{over:.1} % of the area is {limits} ({} unless you gave them)", Material::SOURCE)
    })
}

/// What is beyond the limits of a material, in words.
pub(super) fn limits(material: &Material) -> Option<String> {
    Some(match (material.stretch.is_finite(), material.compress.is_finite()) {
        (true, true) => format!(
            "stretched by more than {} % or compressed by more than {} %",
            material.stretch, material.compress
        ),
        (true, false) => format!("stretched by more than {} %", material.stretch),
        (false, true) => format!("compressed by more than {} %", material.compress),
        (false, false) => return None,
    })
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
