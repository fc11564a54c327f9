//! The workbench: a local server that owns the jobs, and the page that shows them.
//!
//! `router` is the whole server as a function; `serve` gives it a port and a browser. What the page
//! sends and is told stands in `web/src/wire.ts`, and in `told/`.

mod bytes;
mod desk;
mod guard;
mod jobs;
mod page;
mod papers;
mod plain;
mod scans;
pub(crate) mod serve;
mod sizes;
#[cfg(test)]
mod sizes_tests;
mod socket;
mod table;
mod tablet;
#[cfg(test)]
mod tests;
mod told;
mod trouble;
mod workshop;

use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, PoisonError};

use axum::Router;
use axum::extract::DefaultBodyLimit;
use axum::http::StatusCode;
use axum::middleware;
use axum::routing::{get, post};

use desk::Desk;
use guard::Guard;
use table::Table;
use tablet::Tablet;
use trouble::{Refusal, Trouble};
use workshop::Workshop;

/// The largest scan that is taken over the wire, bytes: about 20 million triangles of binary STL.
const LARGEST_SCAN: usize = 1 << 30;

/// Everything the server keeps.
pub(crate) struct Workbench {
    workshop: Workshop,
    table: Table,
    desks: Mutex<BTreeMap<String, Arc<Desk>>>,
    tablet: Tablet,
}

impl Workbench {
    fn new(workshop: Workshop) -> Self {
        Self {
            workshop,
            table: Table::default(),
            desks: Mutex::default(),
            tablet: Tablet::default(),
        }
    }

    /// The job of a name, laid on the desk if it does not lie there already.
    fn desk(&self, name: &str) -> Result<Arc<Desk>, Refusal> {
        let folder = self.workshop.job(name);
        let folder =
            folder.ok_or_else(|| Refusal::missing(format!("there is no job \"{name}\"")))?;
        let mut desks = self.desks.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(desk) = desks.get(name) {
            return Ok(desk.clone());
        }
        let desk = Desk::open(name, &folder).map_err(Refusal::bad)?;
        desks.insert(name.to_owned(), desk.clone());
        Ok(desk)
    }
}

impl Drop for Workbench {
    fn drop(&mut self) {
        let desks = self.desks.get_mut().unwrap_or_else(PoisonError::into_inner);
        desks.values().for_each(|desk| desk.clear());
    }
}

/// The server. It can be called without a port.
fn router(workbench: Arc<Workbench>, guard: Guard) -> Router {
    let here = Router::new()
        .route("/api/tablet", get(tablet::ask).post(tablet::switch))
        .with_state(workbench.clone());
    jobs_router(workbench).merge(here).layer(middleware::from_fn_with_state(guard, guard::watch))
}

/// What every device may ask for that is let in.
fn jobs_router(workbench: Arc<Workbench>) -> Router {
    let scans = Router::new()
        .route("/api/scans", post(scans::put))
        .layer(DefaultBodyLimit::max(LARGEST_SCAN))
        .layer(middleware::from_fn(scans::refuse_too_large));
    Router::new()
        .route("/api/jobs", get(jobs::shelf).post(jobs::make))
        .route("/api/jobs/demo", post(jobs::demo))
        .route("/api/scans/{scan}/mesh", get(scans::mesh))
        .route("/api/jobs/{job}/copy", post(jobs::copy))
        .route("/api/jobs/{job}/mesh/{which}", get(jobs::mesh))
        .route("/api/jobs/{job}/papers", get(papers::list))
        .route("/api/jobs/{job}/papers/{*file}", get(papers::file))
        .route("/api/jobs/{job}/sizes", get(sizes::all).post(sizes::ask))
        .route("/api/jobs/{job}/sizes/stop", post(sizes::stop))
        .route("/api/jobs/{job}/sizes/write", post(sizes::write))
        .route("/api/jobs/{job}/sizes/piece/{name}", get(sizes::piece))
        .route("/api/jobs/{job}/sizes/report/{name}", get(sizes::report))
        .route("/api/jobs/{job}/sizes/last/{name}", get(sizes::last))
        .route("/api/jobs/{job}/sizes/files/{name}", get(sizes::file))
        .route("/api/jobs/{job}/live", get(socket::look))
        .layer(DefaultBodyLimit::max(64 << 10))
        .merge(scans)
        .fallback(page::file)
        .with_state(workbench)
}

/// Runs work that takes a while where it does not hold up other answers.
async fn aside<T: Send + 'static>(
    work: impl FnOnce() -> Result<T, Refusal> + Send + 'static,
) -> Result<T, Refusal> {
    let outcome = tokio::task::spawn_blocking(work).await;
    outcome.unwrap_or_else(|_| {
        let trouble = Trouble::new(
            "the work on this broke off, which is a fault of the program",
            "try again; if it happens again, keep the job and tell its makers",
        );
        Err(Refusal(StatusCode::INTERNAL_SERVER_ERROR, trouble))
    })
}
