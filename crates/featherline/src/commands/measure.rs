//! `featherline measure`: stands a last and measures it.

use std::path::{Path, PathBuf};
use std::process::ExitCode;

use anyhow::Context;
use geometry::mesh::repair::Repair;
use geometry::read::MeshFile;
use geometry::units::{Mm, Unit};
use geometry::warned::{Warned, Warning};
use shoe::foot::Foot;
use shoe::last::measure::{Measures, measure};
use shoe::last::scan::{Standing, stand_scan};
use shoe::last::stand::{Given, Last};
use shoe::size::Size;

use super::new::{foot, heel_height, unit};
use super::open_job;
use crate::one_file;
use crate::output;
use crate::papers::measures as paper;
use crate::progress::Progress;

/// Stand a last and measure it
#[derive(clap::Args)]
pub(crate) struct Measure {
    /// The scan of the last (STL, OBJ, PLY or 3MF), or the folder of a job
    last: PathBuf,
    /// The unit of the scan: mm, cm, m or in; as the file states (3MF), or found from its
    /// extent, if not given
    #[arg(long, value_parser = unit)]
    unit: Option<Unit>,
    /// Which foot the last is for: left or right; found from its shape if not given
    #[arg(long, value_parser = foot)]
    foot: Option<Foot>,
    /// The size of the last, such as "EU 39", "UK 6", "UK child 10" or "US men 8"; read off its length
    /// if not given
    #[arg(long)]
    size: Option<Size>,
    /// Height of the seat above the ground in mm; found if not given
    #[arg(long, value_name = "MM", value_parser = heel_height, allow_negative_numbers = true)]
    heel_height: Option<Mm>,
    /// Write a sheet with pictures and all measures, as PDF
    #[arg(long, value_name = "FILE")]
    sheet: Option<PathBuf>,
    /// Print the measures as JSON on standard output
    #[arg(long)]
    json: bool,
}

/// What was measured, and on what.
pub(crate) struct Measured {
    /// What the last is called: the job, or the file.
    pub(crate) name: String,
    pub(crate) last: Last,
    pub(crate) measures: Measures,
    /// Triangles of the file.
    pub(crate) triangles: usize,
    /// Openings left in the surface.
    pub(crate) openings: usize,
    /// What was mended on the mesh.
    pub(crate) repairs: Vec<Repair>,
    /// Everything else worth knowing.
    pub(crate) warnings: Vec<Warning>,
}

impl Measure {
    pub(crate) fn run(self) -> anyhow::Result<ExitCode> {
        if let Some(path) = &self.sheet {
            one_file::refuse_place(&self.last, path, "--sheet")?;
        }
        let measured = if self.last.is_dir() { self.job()? } else { self.file()? };
        if let Some(path) = &self.sheet {
            let writing = Progress::start(format!("writing {}", path.display()));
            let bytes = paper::sheet(&measured)?;
            one_file::write(path, &bytes, "--sheet")?;
            drop(writing);
        }
        if self.json {
            output::say_json(&paper::as_json(&measured))?;
        } else {
            output::say(&paper::as_text(&measured));
            if let Some(path) = &self.sheet {
                output::say(&format!("\nsheet: {}", path.display()));
            }
        }
        Ok(ExitCode::SUCCESS)
    }

    /// Measures a scan that belongs to no job.
    fn file(&self) -> anyhow::Result<Measured> {
        let given = Given {
            unit: self.unit,
            foot: self.foot,
            heel_height: self.heel_height,
            standard_last_length: self.size.map(Size::standard_last_length),
            ..Given::nothing()
        };
        let name = self.last.file_name().unwrap_or(self.last.as_os_str());
        let name = name.to_string_lossy().into_owned();
        measured(name, &self.last, &given, self.size)
    }

    /// Measures the last of a job by its settings and marks.
    fn job(&self) -> anyhow::Result<Measured> {
        let folder = open_job(&self.last)?;
        let job = folder.job();
        let settings = folder.settings_path();
        let mut given = shoe::draft::given(job);
        settled(&settings, "--unit", self.unit, &mut given.unit)?;
        settled(&settings, "--foot", self.foot, &mut given.foot)?;
        settled(&settings, "--heel-height", self.heel_height, &mut given.heel_height)?;
        settled(&settings, "--size", self.size, &mut Some(job.last.size))?;
        measured(job.name.clone(), &folder.mesh_path(), &given, Some(job.last.size))
    }
}

/// An option fills in what the job leaves open; it may not contradict the job.
fn settled<T: Copy + PartialEq + std::fmt::Display>(
    settings: &Path,
    option: &str,
    asked: Option<T>,
    held: &mut Option<T>,
) -> anyhow::Result<()> {
    if let (Some(asked), Some(held)) = (asked, *held)
        && asked != held
    {
        anyhow::bail!(
            "{}: the job says {held}, {option} says {asked}; leave {option} away, or change the \
             job with `featherline set`",
            settings.display()
        );
    }
    *held = held.or(asked);
    Ok(())
}

fn measured(
    name: String,
    path: &Path,
    given: &Given,
    size: Option<Size>,
) -> anyhow::Result<Measured> {
    let reading = Progress::start(format!("reading {}", path.display()));
    let Warned { value: MeshFile { mesh, unit }, mut warnings } = geometry::read::read_mesh(path)?;
    drop(reading);
    if mesh.triangles.is_empty() {
        anyhow::bail!("{}: holds no triangles; export the scan again", path.display());
    }
    let given = Given { unit: given.unit.or(unit), ..given.clone() };
    let standing = Progress::start("standing and measuring the last");
    let stood = stand_scan(&mesh, &given).with_context(|| path.display().to_string())?;
    // Measured on the scan's own surface: the one to work on may be thinned, or smoothed where a
    // coarse scan shows no edge, which takes millimetres off its girths.
    let Standing { last, scan, openings, repairs } = stood.value;
    let Warned { value: measures, warnings: on_measures } = measure(&last, &scan, size);
    drop(standing);
    warnings.extend(stood.warnings);
    warnings.extend(on_measures);
    Ok(Measured {
        name,
        measures,
        last,
        triangles: mesh.triangles.len(),
        openings,
        repairs,
        warnings,
    })
}
