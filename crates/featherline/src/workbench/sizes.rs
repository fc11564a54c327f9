//! The sizes of a range: asked for, seen one by one and together, written as the command line writes
//! them.

use std::sync::Arc;

use axum::Json;
use axum::extract::{Path, RawQuery, State};
use axum::http::StatusCode;
use axum::response::IntoResponse;
use geometry::surface::Surface;
use serde::{Deserialize, Serialize};
use shoe::foot::Foot;
use shoe::range::Piece;
use shoe::size::fitting::Fitting;
use shoe::size::{Size, through};
use shoe::stiffener::chart::Chart;

use super::desk::{Asked, Made};
use super::papers::{refused, sent};
use super::told::last::{LineTold, lines};
use super::told::report::{self, ReportTold};
use super::told::sizes::{TogetherTold, together};
use super::told::{Notice, piece};
use super::trouble::{Refusal, Trouble};
use super::{Workbench, aside, bytes};
use crate::papers;

/// The folder in the job that `draft --sizes` writes into too.
const FOLDER: &str = "sizes";

/// What a window asks for.
#[derive(Debug, Deserialize)]
pub(super) struct Ask {
    from: Size,
    to: Size,
    halves: bool,
    /// None stands for the last's own.
    fittings: Vec<String>,
    feet: Vec<Foot>,
}

impl Ask {
    fn read(self, own: Size) -> Result<Asked, Trouble> {
        let anew = "pick the run anew";
        let Ask { from, to, halves, fittings, feet } = self;
        let all = through(own, halves);
        let at = |size: Size| {
            all.iter()
                .position(|one| *one == size)
                .ok_or_else(|| Trouble::new(format!("{size} is in no run through {own}"), anew))
        };
        let (first, last) = (at(from)?, at(to)?);
        if first > last || feet.is_empty() {
            return Err(Trouble::new("no size is left in this run", anew));
        }
        let system = own.system();
        let mut read = Vec::new();
        for name in fittings {
            let fitting = Fitting::read(system, &name).map_err(|error| Trouble::of(&error))?;
            if !read.contains(&Some(fitting)) {
                read.push(Some(fitting));
            }
        }
        if read.is_empty() {
            read.push(None);
        }
        let both = [Foot::Left, Foot::Right].into_iter().filter(|foot| feet.contains(foot));
        Ok(Asked {
            sizes: all[first..=last].to_vec(),
            halves,
            fittings: read,
            feet: both.collect(),
        })
    }
}

/// Begins to derive a run.
pub(super) async fn ask(
    State(bench): State<Arc<Workbench>>,
    Path(job): Path<String>,
    Json(ask): Json<Ask>,
) -> Result<StatusCode, Refusal> {
    let desk = bench.desk(&job)?;
    let asked = ask.read(desk.size()).map_err(Refusal::bad)?;
    desk.ask_sizes(asked).map_err(Refusal::bad)?;
    Ok(StatusCode::ACCEPTED)
}

/// Derives no further.
pub(super) async fn stop(
    State(bench): State<Arc<Workbench>>,
    Path(job): Path<String>,
) -> Result<StatusCode, Refusal> {
    bench.desk(&job)?.stop_sizes();
    Ok(StatusCode::NO_CONTENT)
}

/// All of them together.
pub(super) async fn all(
    State(bench): State<Arc<Workbench>>,
    Path(job): Path<String>,
) -> Result<Json<TogetherTold>, Refusal> {
    let desk = bench.desk(&job)?;
    aside(move || Ok(Json(together(&*desk.sizes().map_err(refused)?)))).await
}

/// One of them as the page draws a piece.
pub(super) async fn piece(
    State(bench): State<Arc<Workbench>>,
    Path((job, name)): Path<(String, String)>,
) -> Result<impl IntoResponse, Refusal> {
    let desk = bench.desk(&job)?;
    aside(move || {
        let made = desk.sizes().map_err(refused)?;
        on_chart(&made, &name, |chart, piece| {
            let stiffener = &piece.drafted.stiffener;
            piece::tell(chart, stiffener, &piece.drafted.report.job, 0, None)
        })
    })
    .await
}

/// What is told of one.
#[derive(Debug, Serialize)]
pub(super) struct OneTold {
    report: ReportTold,
    warnings: Vec<Notice>,
    lines: Vec<LineTold>,
    ground: f64,
}

/// Dimensions, checks and warnings of one, with the lines of its last.
pub(super) async fn report(
    State(bench): State<Arc<Workbench>>,
    Path((job, name)): Path<(String, String)>,
) -> Result<Json<OneTold>, Refusal> {
    let desk = bench.desk(&job)?;
    aside(move || {
        let made = desk.sizes().map_err(refused)?;
        let told = on_chart(&made, &name, |chart, piece| OneTold {
            report: report::tell(chart, &piece.drafted),
            warnings: piece.warnings.iter().map(Notice::from).collect(),
            lines: lines(&piece.drafted.last),
            ground: piece.drafted.last.ground,
        })?;
        Ok(Json(told))
    })
    .await
}

/// The last of one.
pub(super) async fn last(
    State(bench): State<Arc<Workbench>>,
    Path((job, name)): Path<(String, String)>,
) -> Result<impl IntoResponse, Refusal> {
    let desk = bench.desk(&job)?;
    aside(move || {
        let made = desk.sizes().map_err(refused)?;
        Ok(bytes::mesh(&one(&made, &name)?.drafted.last.mesh))
    })
    .await
}

#[derive(Debug, Serialize)]
pub(super) struct Written {
    folder: String,
    files: Vec<WrittenFile>,
}

#[derive(Debug, Serialize)]
struct WrittenFile {
    file: String,
    what: String,
    bytes: usize,
}

/// Writes every file into the job's folder.
pub(super) async fn write(
    State(bench): State<Arc<Workbench>>,
    Path(job): Path<String>,
) -> Result<Json<Written>, Refusal> {
    let desk = bench.desk(&job)?;
    let folder = bench.workshop.job(&job).map(|folder| folder.join(FOLDER));
    aside(move || {
        let folder =
            folder.ok_or_else(|| Refusal::missing(format!("there is no job \"{job}\"")))?;
        let made = desk.sizes_to_write().map_err(refused)?;
        let files = papers::range::write(&made.pieces, &made.pieces, &made.job.name, &folder);
        let files = files.map_err(|error| {
            let message =
                format!("{}: cannot be written: {}", folder.display(), error.root_cause());
            let hint = "check that the disk has room and lets you write";
            Refusal(StatusCode::INTERNAL_SERVER_ERROR, Trouble::new(message, hint))
        })?;
        let files = files.into_iter().map(|file| WrittenFile {
            file: file.name,
            what: file.what,
            bytes: file.bytes.len(),
        });
        Ok(Json(Written { folder: folder.display().to_string(), files: files.collect() }))
    })
    .await
}

/// One file.
pub(super) async fn file(
    State(bench): State<Arc<Workbench>>,
    Path((job, name)): Path<(String, String)>,
    RawQuery(query): RawQuery,
) -> Result<impl IntoResponse, Refusal> {
    let desk = bench.desk(&job)?;
    aside(move || {
        let made = desk.sizes_to_write().map_err(refused)?;
        let file = papers::range::make_one(&made.pieces, &made.job.name, &name);
        let file = file.map_err(|error| Refusal::bad(Trouble::plain(format!("{error:#}"))))?;
        let file = file.ok_or_else(|| Refusal::missing("there is no such file"))?;
        Ok(sent(file, query.as_deref()))
    })
    .await
}

fn one<'a>(made: &'a Made, name: &str) -> Result<&'a Piece, Refusal> {
    made.piece(name).ok_or_else(|| {
        let hint = "pick another, or derive the run again";
        Refusal(StatusCode::NOT_FOUND, Trouble::new("there is no such size in this run", hint))
    })
}

fn on_chart<T>(
    made: &Made,
    name: &str,
    tell: impl FnOnce(&Chart<'_, '_>, &Piece) -> T,
) -> Result<T, Refusal> {
    let piece = one(made, name)?;
    let last = &piece.drafted.last;
    let surface = Surface::new(&last.mesh).map_err(|error| Refusal::unexpected(&error))?;
    let line = &last.marks.feather_line.points;
    let chart =
        Chart::new(&surface, line, last.foot).map_err(|error| Refusal::unexpected(&error))?;
    Ok(tell(&chart, piece))
}
