//! Scans handed over by the page: read, shown, and kept on the table until a job is made of one.

use std::sync::Arc;

use axum::Json;
use axum::body::{Body, Bytes};
use axum::extract::{Path, Query, State};
use axum::http::header::CONTENT_LENGTH;
use axum::http::{Request, StatusCode};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};
use geometry::read::read_mesh_bytes;
use serde::{Deserialize, Serialize};

use super::told::Notice;
use super::trouble::{Refusal, Trouble};
use super::{LARGEST_SCAN, Workbench, aside, bytes};

/// The name of the file that a scan came in.
#[derive(Debug, Deserialize)]
pub(super) struct Named {
    file: String,
}

#[derive(Debug, Serialize)]
pub(super) struct ScanRead {
    scan: String,
    file: String,
    triangles: usize,
    unit: Option<String>,
    warnings: Vec<Notice>,
}

/// Refuses a scan that says it is too large before any of it is taken.
pub(super) async fn refuse_too_large(request: Request<Body>, next: Next) -> Response {
    let length = request.headers().get(CONTENT_LENGTH).and_then(|length| length.to_str().ok());
    let length = length.and_then(|length| length.parse::<u64>().ok());
    if length.is_some_and(|length| length > LARGEST_SCAN as u64) {
        let message = format!("the scan is larger than {} MiB", LARGEST_SCAN >> 20);
        let hint = "export it with fewer triangles; 500,000 are plenty";
        let trouble = Trouble::new(message, hint);
        return Refusal(StatusCode::PAYLOAD_TOO_LARGE, trouble).into_response();
    }
    next.run(request).await
}

/// Reads a scan and lays it on the table.
pub(super) async fn put(
    State(bench): State<Arc<Workbench>>,
    Query(Named { file }): Query<Named>,
    body: Bytes,
) -> Result<Json<ScanRead>, Refusal> {
    aside(move || {
        let read = read_mesh_bytes(&file, &body).map_err(Refusal::bad)?;
        let warnings = read.warnings.iter().map(Notice::from).collect();
        let (mesh, unit) = (read.value.mesh, read.value.unit);
        let triangles = mesh.triangles.len();
        let scan = bench.table.put(file, body.to_vec(), mesh, unit);
        let unit = unit.map(|unit| unit.to_string());
        Ok(Json(ScanRead {
            scan: scan.id.clone(),
            file: scan.file.clone(),
            triangles,
            unit,
            warnings,
        }))
    })
    .await
}

/// A scan on the table as a mesh, in the coordinates of its file.
pub(super) async fn mesh(
    State(bench): State<Arc<Workbench>>,
    Path(scan): Path<String>,
) -> Result<impl IntoResponse, Refusal> {
    let found = bench.table.get(&scan);
    let scan = found.ok_or_else(|| Refusal::missing("this scan is not on the table any more"))?;
    aside(move || Ok(bytes::mesh(&scan.mesh))).await
}
