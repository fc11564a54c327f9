//! `featherline demo`: makes a job on a built last and drafts it.

use std::path::{Path, PathBuf};
use std::process::ExitCode;

use geometry::mesh::write::write_stl_binary;
use geometry::units::{Mm, Unit};
use shoe::foot::Foot;
use shoe::job::{JobFolder, NewJob};
use shoe::last::build::{LastMeasures, build_last};
use shoe::size::Size;

use super::draft::{derive, write};
use super::open_job;
use crate::output;
use crate::progress::Progress;

/// The demo's folder, size and note; invented, like all of the demo.
const SIZE: &str = "EU 39";
pub(crate) const FOLDER: &str = "demo-job";
/// The file of its last.
pub(crate) const FILE: &str = "last.stl";
const NOTE: &str = "Invented: a built last in no one's workshop, to try things on.";

/// Make a demo job on a built last, draft it, and say where the pieces lie
#[derive(clap::Args)]
pub(crate) struct Demo {
    /// The folder of the demo job
    #[arg(default_value = FOLDER)]
    dir: PathBuf,
    /// Print the report as JSON on standard output
    #[arg(long)]
    json: bool,
}

impl Demo {
    pub(crate) fn run(self) -> anyhow::Result<ExitCode> {
        let job = if self.dir.join("job.toml").exists() {
            if !self.json {
                output::say(&format!(
                    "{}: is there already, and is drafted again",
                    self.dir.display()
                ));
            }
            open_job(&self.dir)?
        } else {
            make(&self.dir)?
        };
        let drafted = derive(&job)?;
        write(&drafted, &self.dir.join("patterns"), self.json)
    }
}

/// Makes the demo job in `folder`.
pub(crate) fn make(folder: &Path) -> anyhow::Result<JobFolder> {
    let building = Progress::start("building a last");
    let Invented { new, file } = invented()?;
    drop(building);
    Ok(JobFolder::create_with(folder, FILE, &file, &new)?)
}

/// What the demo job is made of.
pub(crate) struct Invented {
    pub(crate) new: NewJob,
    /// Binary STL, in single precision.
    pub(crate) file: Vec<u8>,
}

/// Builds the demo's last.
pub(crate) fn invented() -> anyhow::Result<Invented> {
    let size: Size = SIZE.parse()?;
    let mut measures = LastMeasures::for_size(size.standard_last_length().get(), Foot::Right);
    measures.heel_height = 25.0;
    let mut file = Vec::new();
    write_stl_binary(&build_last(&measures)?.mesh, &mut file)?;
    let new = NewJob {
        name: "Demo, invented".into(),
        note: NOTE.into(),
        size,
        unit: Some(Unit::Mm),
        foot: Some(Foot::Right),
        heel_height: Some(Mm::new(measures.heel_height)),
        pose: None,
    };
    Ok(Invented { new, file })
}
