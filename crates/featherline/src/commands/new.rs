//! `featherline new`: makes a job from a scan of a last.

use std::path::PathBuf;
use std::process::ExitCode;

use anyhow::Context;
use geometry::units::{Mm, Unit};
use geometry::warned::{Warned, Warning};
use shoe::foot::Foot;
use shoe::job::{Command, JobFolder, NewJob};
use shoe::last::marks::Found;
use shoe::last::scan::{Standing, stand_scan};
use shoe::last::stand::Last;
use shoe::size::Size;

use crate::output;
use crate::progress::Progress;

/// Make a job from a scan of a last
#[derive(clap::Args)]
pub(crate) struct New {
    /// The folder to make; it must not exist, or be empty
    job: PathBuf,
    /// The scan of the last: STL, OBJ, PLY or 3MF; a copy goes into the job
    #[arg(long, value_name = "FILE")]
    last: PathBuf,
    /// The size of the last, such as "EU 39", "UK 6", "UK child 10" or "US men 8"
    #[arg(long)]
    size: Size,
    /// Which foot the last is for: left or right; found from its shape if not given
    #[arg(long, value_parser = foot)]
    foot: Option<Foot>,
    /// The unit of the scan: mm, cm, m or in; as the file states (3MF), or found from its extent, if not
    /// given
    #[arg(long, value_parser = unit)]
    unit: Option<Unit>,
    /// Height of the seat above the ground in mm; measured if not given
    #[arg(long, value_name = "MM", value_parser = heel_height, allow_negative_numbers = true)]
    heel_height: Option<Mm>,
    /// What to call it; the name of the folder if not given
    #[arg(long)]
    name: Option<String>,
    /// Anything worth keeping with it
    #[arg(long, default_value = "")]
    note: String,
    /// Print the result as JSON on standard output
    #[arg(long)]
    json: bool,
}

impl New {
    pub(crate) fn run(self) -> anyhow::Result<ExitCode> {
        // A file that is no last is refused now, not when it is first needed.
        let reading = Progress::start(format!("reading {}", self.last.display()));
        let read = geometry::read::read_mesh(&self.last)?;
        drop(reading);
        let (mesh, stated_unit) = (read.value.mesh, read.value.unit);
        if mesh.triangles.is_empty() {
            anyhow::bail!("{}: holds no triangles; export the scan again", self.last.display());
        }
        output::warn(&read.warnings);

        let folder_name = self.job.file_name().map(|n| n.to_string_lossy().into_owned());
        let new = NewJob {
            name: self.name.or(folder_name).unwrap_or_default(),
            note: self.note,
            size: self.size,
            unit: self.unit.or(stated_unit),
            foot: self.foot,
            heel_height: self.heel_height,
            pose: None,
        };
        let standing = Progress::start("standing the last");
        let last = stand_scan(&mesh, &shoe::draft::given(&new.job("last")))
            .with_context(|| self.last.display().to_string())?;
        drop(standing);
        let made = JobFolder::create(&self.job, &self.last, &new)?;
        let Warned { value: Standing { last, repairs, .. }, warnings } = last;
        output::warn(&repairs.into_iter().map(Warning::from).collect::<Vec<_>>());
        output::warn(&warnings);
        let length = self.size.standard_last_length();
        if self.json {
            output::say_json(&serde_json::json!({
                "job": made.path(),
                "settings": made.settings_path(),
                "mesh": made.mesh_path(),
                "triangles": mesh.triangles.len(),
                "size": self.size,
                "standard_last_length": length,
                "child": self.size.is_child(),
                "unit": last.unit,
                "foot": last.foot,
                "length": Mm::new(length_of(&last)),
                "found": last.found.iter().map(|f| serde_json::json!({
                    "sureness": f.sureness,
                    "words": f.sentence,
                })).collect::<Vec<_>>(),
            }))?;
        } else {
            output::say(&format!("{}: made, {} ({length})", made.path().display(), self.size));
            output::say(&in_words(&last));
            if let Some(stated) = stated_unit {
                output::say(&unit_in_words(stated, self.unit));
            }
            output::say(&format!("settings to look through: {}", made.settings_path().display()));
            if self.size.is_child() {
                output::say(
                    "a child's size: no rule covers children's ankles, so measure and enter both",
                );
            }
            output::say(&super::next_draft(made.path()));
        }
        Ok(ExitCode::SUCCESS)
    }
}

/// From heel to toe along the axis, mm.
fn length_of(last: &Last) -> f64 {
    last.mesh.bounds().map_or(0.0, |(low, high)| high.x - low.x)
}

/// What was found on the last, and how sure it is.
fn in_words(last: &Last) -> String {
    let sure = |wanted: fn(&Found) -> bool| {
        let finding = last.found.iter().find(|f| wanted(&f.what));
        finding.map_or("as given".to_owned(), |f| format!("sure: {:.0} of 100", 100.0 * f.sureness))
    };
    format!(
        "the last: unit {} ({}), {} foot ({}), {:.0} mm long",
        last.unit,
        sure(|what| matches!(what, Found::Unit(_))),
        last.foot,
        sure(|what| matches!(what, Found::Foot(_))),
        length_of(last)
    )
}

/// The unit that the file states, and whether it was followed.
fn unit_in_words(stated: Unit, given: Option<Unit>) -> String {
    match given {
        Some(given) if given != stated => {
            format!("its file states the unit {stated}; {given} was taken, as given")
        }
        _ => format!("its file states the unit {stated}; the job keeps it"),
    }
}

pub(super) fn foot(text: &str) -> Result<Foot, String> {
    match Command::parse("last.foot", text) {
        Ok(Command::Foot(Some(foot))) => Ok(foot),
        other => Err(refused(other)),
    }
}

pub(super) fn unit(text: &str) -> Result<Unit, String> {
    match Command::parse("last.unit", text) {
        Ok(Command::Unit(Some(unit))) => Ok(unit),
        other => Err(refused(other)),
    }
}

pub(super) fn heel_height(text: &str) -> Result<Mm, String> {
    match Command::parse("last.heel_height", text) {
        Ok(Command::HeelHeight(Some(height))) => Ok(height),
        other => Err(refused(other)),
    }
}

fn refused(parsed: Result<Command, shoe::job::CommandError>) -> String {
    match parsed {
        Ok(_) => "leave the option away to have it found".to_owned(),
        Err(error) => error.to_string(),
    }
}
