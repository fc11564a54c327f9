//! `featherline flatten`: lays one disk-shaped surface flat.

use std::fmt::Write as _;
use std::io::Write as _;
use std::path::{Path, PathBuf};
use std::process::ExitCode;
use std::time::Instant;

use anyhow::Context;
use flatten::{Flattening, Options};
use geometry::mesh::TriMesh;

use crate::output;

/// Flatten one disk-shaped surface with the least strain
#[derive(clap::Args)]
pub(crate) struct Flatten {
    /// The surface to flatten: STL, OBJ, PLY or 3MF
    mesh: PathBuf,
    /// Where the flat mesh goes (OBJ, z = 0, vertices and triangles in the order read)
    #[arg(long)]
    out: PathBuf,
    /// Print the result as JSON on standard output
    #[arg(long)]
    json: bool,
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
    iterations: usize,
    /// Of flattening alone, without reading and writing.
    seconds: f64,
}

impl Flatten {
    pub(crate) fn run(self) -> anyhow::Result<ExitCode> {
        refuse_place(&self.mesh, &self.out)?;
        let read = geometry::read::read_mesh(&self.mesh)?;
        output::warn(&read.warnings);
        let mesh = read.value.mesh;

        let begin = Instant::now();
        let flat = flatten::flatten(&mesh, &Options::default())
            .with_context(|| format!("{}: cannot be laid flat", self.mesh.display()))?;
        let seconds = begin.elapsed().as_secs_f64();
        if !flat.converged {
            eprintln!(
                "warning: {}: stopped after {} steps before the least strain was reached",
                self.mesh.display(),
                flat.iterations
            );
        }

        write_whole(&self.out, &flat_obj(&mesh, &flat)).map_err(|cause| {
            anyhow::anyhow!(
                "{}: cannot be written ({cause}); choose another place with --out, or check that the disk has room and lets you write",
                self.out.display()
            )
        })?;

        let report = Report {
            triangles: mesh.triangles.len(),
            energy: flat.energy,
            mean_strain: flat.strain.mean,
            p95_strain: flat.strain.p95,
            p99_strain: flat.strain.p99,
            flipped: flat.flipped,
            overlaps: flat.overlaps,
            iterations: flat.iterations,
            seconds,
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
        text
    }
}

/// Refuses to write over what is read, and over what is no plain file: renaming onto a link, a
/// device or a folder would replace it, not write to it.
fn refuse_place(read: &Path, out: &Path) -> anyhow::Result<()> {
    // Only what is there can be in the way; whether the place can be written shows in writing.
    let Ok(there) = std::fs::symlink_metadata(out) else { return Ok(()) };
    if same_file(read, out) {
        anyhow::bail!("{}: --out is the file being read; choose another name", out.display());
    }
    let kind = there.file_type();
    let what = match (kind.is_file(), kind.is_dir(), kind.is_symlink()) {
        (true, ..) => return Ok(()),
        (_, true, _) => "a folder",
        (.., true) => "a link to another file",
        _ => "a device or a pipe, no plain file",
    };
    anyhow::bail!("{}: cannot be written: it is {what}; choose another name", out.display())
}

/// Whether two names lead to one file, by links of either sort too.
fn same_file(a: &Path, b: &Path) -> bool {
    #[cfg(unix)]
    {
        use std::os::unix::fs::MetadataExt as _;
        let id = |path| std::fs::metadata(path).map(|m| (m.dev(), m.ino())).ok();
        id(a).is_some() && id(a) == id(b)
    }
    #[cfg(not(unix))]
    {
        let whole = |path| std::fs::canonicalize(path).ok();
        whole(a).is_some() && whole(a) == whole(b)
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

/// Writes beside `path`, flushes, and renames: a crash leaves the old file or the new one.
fn write_whole(path: &Path, text: &str) -> std::io::Result<()> {
    let mut beside_name = path.file_name().unwrap_or_default().to_os_string();
    beside_name.push(format!(".{}.part", std::process::id()));
    let beside = path.with_file_name(beside_name);
    let written = std::fs::File::create(&beside).and_then(|mut file| {
        file.write_all(text.as_bytes())?;
        file.sync_all()
    });
    let renamed = written.and_then(|()| std::fs::rename(&beside, path));
    if renamed.is_err() {
        let _ = std::fs::remove_file(&beside);
    }
    renamed
}
