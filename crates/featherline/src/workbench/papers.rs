//! What can be had on paper and as files: the same bytes that the command line writes.

use std::sync::Arc;

use axum::Json;
use axum::extract::{Path, RawQuery, State};
use axum::http::header::{CONTENT_DISPOSITION, CONTENT_TYPE};
use axum::response::IntoResponse;
use cutting::pdf::{self, TileOptions};
use serde::Serialize;
use shoe::stiffener::piece;

use super::told::{Vec2, v2};
use super::trouble::{Refusal, Trouble};
use super::{Workbench, aside, page};
use crate::papers;

#[derive(Debug, Serialize)]
pub(super) struct Papers {
    files: Vec<PaperTold>,
    tiles: Vec<TilesTold>,
}

#[derive(Debug, Serialize)]
struct PaperTold {
    file: String,
    what: String,
    bytes: usize,
}

#[derive(Debug, Serialize)]
struct TilesTold {
    file: &'static str,
    paper: &'static str,
    words: String,
    sheets: Vec<SheetTold>,
}

#[derive(Debug, Serialize)]
struct SheetTold {
    name: String,
    low: Vec2,
    high: Vec2,
}

fn failed(error: &anyhow::Error) -> Refusal {
    let trouble = Trouble::plain(format!("{error:#}"));
    Refusal(axum::http::StatusCode::UNPROCESSABLE_ENTITY, trouble)
}

/// What cannot be had while the job is as it is.
pub(super) fn refused(trouble: Trouble) -> Refusal {
    Refusal(axum::http::StatusCode::CONFLICT, trouble)
}

/// Lists the files, and how the piece is spread over sheets.
pub(super) async fn list(
    State(bench): State<Arc<Workbench>>,
    Path(job): Path<String>,
) -> Result<Json<Papers>, Refusal> {
    let desk = bench.desk(&job)?;
    aside(move || {
        let drafted = desk.drafted().map_err(refused)?;
        let files = papers::make(&drafted).map_err(|error| failed(&error))?;
        let files = files.into_iter().map(|file| PaperTold {
            file: file.name,
            what: file.what,
            bytes: file.bytes.len(),
        });
        let drawing = piece::draw(&drafted.stiffener, &drafted.report.job);
        let tiles = papers::TILED.map(|(paper, file)| {
            let layout = pdf::tile_layout(&drawing, paper, TileOptions::default())
                .map_err(|error| Refusal::bad(Trouble::of(&error)))?;
            let sheets = layout.tiles.iter().map(|tile| SheetTold {
                name: tile.name.clone(),
                low: v2(tile.low),
                high: v2(tile.high),
            });
            let words = layout.to_string();
            Ok(TilesTold { file, paper: paper.name(), words, sheets: sheets.collect() })
        });
        let tiles = tiles.into_iter().collect::<Result<_, Refusal>>()?;
        Ok(Json(Papers { files: files.collect(), tiles }))
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
        let drafted = desk.drafted().map_err(refused)?;
        let file = papers::make_one(&drafted, &name).map_err(|error| failed(&error))?;
        let file = file.ok_or_else(|| Refusal::missing("there is no such file"))?;
        Ok(sent(file, query.as_deref()))
    })
    .await
}

/// A file to be opened, or to be kept where `query` says so.
pub(super) fn sent(file: papers::File, query: Option<&str>) -> impl IntoResponse + use<> {
    let plain = file.name.rsplit('/').next().unwrap_or(&file.name);
    let how = if query == Some("keep") { "attachment" } else { "inline" };
    let headers = [
        (CONTENT_TYPE, page::kind(&file.name).to_owned()),
        (CONTENT_DISPOSITION, format!("{how}; filename=\"{plain}\"")),
    ];
    (headers, file.bytes)
}
