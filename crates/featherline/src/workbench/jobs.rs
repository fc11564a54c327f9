//! The shelf of jobs: listed, made, copied; and the meshes of one.

use std::sync::Arc;

use axum::Json;
use axum::extract::{Path, State};
use axum::http::StatusCode;
use axum::response::IntoResponse;
use geometry::mesh::TriMesh;
use geometry::read::read_mesh_bytes;
use serde::{Deserialize, Serialize};
use shoe::foot::Foot;
use shoe::job::{Command, JobFolder, NewJob};
use shoe::last::scan::{ScanError, stand_scan};

use super::told::last::rows;
use super::trouble::{Refusal, Trouble};
use super::workshop::{ShelfJob, Workshop};
use super::{Workbench, aside};
use crate::commands::demo::{self, Invented};

#[derive(Debug, Serialize)]
pub(super) struct Shelf {
    folder: String,
    last: Option<String>,
    jobs: Vec<ShelfJob>,
    version: &'static str,
}

/// The name of a job's folder.
#[derive(Debug, Serialize)]
pub(super) struct Made {
    job: String,
}

impl Made {
    fn of(folder: &JobFolder) -> Json<Self> {
        let name = folder.path().file_name().map(|n| n.to_string_lossy().into_owned());
        Json(Self { job: name.unwrap_or_default() })
    }
}

/// Lists the jobs.
pub(super) async fn shelf(State(bench): State<Arc<Workbench>>) -> Result<Json<Shelf>, Refusal> {
    aside(move || {
        let jobs = bench.workshop.shelf().map_err(|error| Refusal::unexpected(&error))?;
        Ok(Json(Shelf {
            folder: bench.workshop.folder().display().to_string(),
            last: bench.workshop.last(),
            jobs,
            version: env!("CARGO_PKG_VERSION"),
        }))
    })
    .await
}

/// What a new job is made of, as typed.
#[derive(Debug, Deserialize)]
pub(super) struct Wanted {
    scan: String,
    name: String,
    size: String,
    heel_height: String,
    unit: Option<String>,
    foot: Option<Foot>,
}

/// Makes a job of a scan on the table.
pub(super) async fn make(
    State(bench): State<Arc<Workbench>>,
    Json(wanted): Json<Wanted>,
) -> Result<(StatusCode, Json<Made>), Refusal> {
    aside(move || {
        let scan = bench.table.get(&wanted.scan).ok_or_else(|| {
            let message = "the scan is not on the table any more";
            Refusal(StatusCode::GONE, Trouble::new(message, "hand it over once more"))
        })?;
        let typed = |key: &str, text: &str| Command::parse(key, text).map_err(Refusal::bad);
        let Command::Size(size) = typed("last.size", &wanted.size)? else { return Err(odd()) };
        let heel_height = match wanted.heel_height.trim() {
            "" => None,
            text => match typed("last.heel_height", text)? {
                Command::HeelHeight(height) => height,
                _ => return Err(odd()),
            },
        };
        let unit = match &wanted.unit {
            None => scan.unit,
            Some(text) => match typed("last.unit", text)? {
                Command::Unit(unit) => unit,
                _ => return Err(odd()),
            },
        };
        let name = match wanted.name.trim() {
            "" => scan.file.clone(),
            name => name.to_owned(),
        };
        let foot = wanted.foot;
        let note = String::new();
        let new = NewJob { name, note, size, unit, foot, heel_height, pose: None };
        // Names come from other people's disks: only the ending counts.
        let folder = bench.workshop.free_for(&new.name);
        let file = shoe::job::mesh_name(scan.file.as_ref());
        let made = standing(new, &scan.mesh).map_err(Refusal::bad)?;
        let made = JobFolder::create_with(&folder, &file, &scan.bytes, &made);
        Ok((StatusCode::CREATED, Made::of(&made.map_err(Refusal::bad)?)))
    })
    .await
}

/// A new job whose last goes on standing as it is found to stand now: marks moved by hand then leave
/// all others where they are. A scan that is no last is refused before there is a job of it.
fn standing(new: NewJob, mesh: &TriMesh) -> Result<NewJob, ScanError> {
    let standing = stand_scan(mesh, &shoe::draft::given(&new.job("last")))?;
    Ok(NewJob { pose: Some(rows(&standing.value.last)), ..new })
}

/// A key never gives another key's edit.
fn odd() -> Refusal {
    let trouble = Trouble::new("this cannot be understood", "load the page again");
    Refusal(StatusCode::INTERNAL_SERVER_ERROR, trouble)
}

/// Makes the demo, or finds the one that was made.
pub(super) async fn demo(
    State(bench): State<Arc<Workbench>>,
) -> Result<(StatusCode, Json<Made>), Refusal> {
    aside(move || {
        if bench.workshop.job(demo::FOLDER).is_some() {
            return Ok((StatusCode::OK, Json(Made { job: demo::FOLDER.to_owned() })));
        }
        let made = make_demo(&bench.workshop).map_err(|error| {
            let message = format!("{error:#}");
            Refusal(StatusCode::INTERNAL_SERVER_ERROR, Trouble::plain(message))
        })?;
        Ok((StatusCode::CREATED, Made::of(&made)))
    })
    .await
}

/// Makes the demo in a workshop that has none.
pub(super) fn make_demo(workshop: &Workshop) -> anyhow::Result<JobFolder> {
    let Invented { new, file } = demo::invented()?;
    let mesh = read_mesh_bytes(demo::FILE, &file)?.value.mesh;
    let folder = workshop.folder().join(demo::FOLDER);
    Ok(JobFolder::create_with(&folder, demo::FILE, &file, &standing(new, &mesh)?)?)
}

/// What a copy is to be called.
#[derive(Debug, Deserialize)]
pub(super) struct Called {
    job: String,
}

/// Makes another job of one.
pub(super) async fn copy(
    State(bench): State<Arc<Workbench>>,
    Path(job): Path<String>,
    Json(called): Json<Called>,
) -> Result<(StatusCode, Json<Made>), Refusal> {
    aside(move || {
        let missing = || Refusal::missing(format!("there is no job \"{job}\""));
        let folder = bench.workshop.job(&job).ok_or_else(missing)?;
        let from = JobFolder::open(&folder).map_err(Refusal::bad)?.value;
        let name = called.job.trim();
        if name.is_empty() {
            let trouble = Trouble::new("the new job has no name", "give it one of its own");
            return Err(Refusal::bad(trouble));
        }
        let to = bench.workshop.free_for(name);
        let made = from.copy_to(&to, name).map_err(Refusal::bad)?;
        Ok((StatusCode::CREATED, Made::of(&made)))
    })
    .await
}

/// A mesh of a job: `read`, in the file's coordinates, or `stood`, in the last frame.
pub(super) async fn mesh(
    State(bench): State<Arc<Workbench>>,
    Path((job, which)): Path<(String, String)>,
) -> Result<impl IntoResponse, Refusal> {
    let stood = match which.as_str() {
        "read" => false,
        "stood" => true,
        _ => return Err(Refusal::missing("a job has a mesh as read, and one stood")),
    };
    let desk = bench.desk(&job)?;
    aside(move || {
        let mesh = desk.mesh(stood).ok_or_else(|| {
            let trouble =
                Trouble::new("the scan could not be stood", "see what the job says of it");
            Refusal(StatusCode::CONFLICT, trouble)
        })?;
        Ok(mesh.to_vec())
    })
    .await
}
