//! The page itself, as it was built into the program.

use axum::body::Body;
use axum::http::header::{CACHE_CONTROL, CONTENT_TYPE};
use axum::http::{Method, StatusCode, Uri};
use axum::response::{IntoResponse, Response};

use include_dir::{Dir, include_dir};

use super::trouble::Refusal;

/// The files of the page; `build.rs` makes the folder and names it.
static PAGE: Dir<'_> = include_dir!("$FEATHERLINE_PAGE");

/// A file of the page.
pub(super) async fn file(method: Method, uri: Uri) -> Response {
    let path = uri.path().trim_start_matches('/');
    let path = if path.is_empty() { "index.html" } else { path };
    let found = (method == Method::GET).then(|| PAGE.get_file(path)).flatten();
    let Some(file) = found else {
        return Refusal::missing("there is nothing at this address").into_response();
    };
    // Files named after their content never change.
    let kept = if path.starts_with("assets/") { "max-age=31536000, immutable" } else { "no-cache" };
    let headers = [(CONTENT_TYPE, kind(path)), (CACHE_CONTROL, kept)];
    (StatusCode::OK, headers, Body::from(file.contents())).into_response()
}

/// What a file is, by its ending.
pub(super) fn kind(path: &str) -> &'static str {
    match path.rsplit('.').next() {
        Some("html") => "text/html; charset=utf-8",
        Some("txt") => "text/plain; charset=utf-8",
        Some("js") => "text/javascript; charset=utf-8",
        Some("css") => "text/css; charset=utf-8",
        Some("json") => "application/json",
        Some("svg") => "image/svg+xml",
        Some("png") => "image/png",
        Some("webp") => "image/webp",
        Some("woff2") => "font/woff2",
        Some("woff") => "font/woff",
        Some("pdf") => "application/pdf",
        Some("dxf") => "image/vnd.dxf",
        Some("obj") => "model/obj",
        _ => "application/octet-stream",
    }
}
