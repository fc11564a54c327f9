//! The workbench on a port of this machine, with a browser opened on it.

use std::net::{Ipv4Addr, SocketAddr};
use std::path::{Path, PathBuf};
use std::process::{Command, ExitCode, Stdio};
use std::sync::Arc;

use anyhow::Context;

use super::guard::Guard;
use super::jobs::make_demo;
use super::workshop::Workshop;
use super::{Workbench, router};
use crate::commands::demo;
use crate::output;

/// How the workbench is opened
#[derive(Debug, Clone, Default, clap::Args)]
pub(crate) struct Serve {
    /// The port to listen on, of this machine only; a free one if not given
    #[arg(long, value_name = "PORT")]
    port: Option<u16>,
    /// Print the address and open no browser
    #[arg(long)]
    no_browser: bool,
}

/// The workshop folder where none is named: `Featherline` in the user's own folder.
pub(crate) fn usual_workshop() -> PathBuf {
    let home = std::env::home_dir().unwrap_or_else(|| PathBuf::from("."));
    home.join("Featherline")
}

impl Serve {
    /// Serves the jobs in `workshop` until the program is ended; `job` is opened first, otherwise the
    /// one opened last, and the demo where there is none.
    pub(crate) fn run(self, workshop: &Path, job: Option<&str>) -> anyhow::Result<ExitCode> {
        let place = workshop.display();
        let workshop = Workshop::at(workshop).with_context(|| {
            format!("{place}: the folder of the jobs cannot be used; name another with --workshop")
        })?;
        let first = match job.map(str::to_owned).or_else(|| workshop.last()) {
            Some(job) => job,
            None => {
                if workshop.job(demo::FOLDER).is_none() {
                    make_demo(&workshop)?;
                }
                demo::FOLDER.to_owned()
            }
        };
        workshop.remember(&first);
        let runtime = tokio::runtime::Builder::new_multi_thread().enable_all().build()?;
        runtime.block_on(self.serve(Workbench::new(workshop)))
    }

    async fn serve(self, bench: Workbench) -> anyhow::Result<ExitCode> {
        let port = self.port.unwrap_or(0);
        let address = SocketAddr::from((Ipv4Addr::LOCALHOST, port));
        let listener = tokio::net::TcpListener::bind(address).await.with_context(|| {
            format!("port {port} is taken; leave --port away, or choose another")
        })?;
        let guard = Guard::new(listener.local_addr()?.port())?;
        output::say(&format!("workbench: {}", guard.address()));
        output::say(&format!("jobs in:   {}", bench.workshop.folder().display()));
        output::say(
            "Leave this window open; Ctrl+C ends the program. Every edit is saved at once.",
        );
        if !self.no_browser {
            open_browser(&guard.address());
        }
        axum::serve(listener, router(Arc::new(bench), guard)).await?;
        Ok(ExitCode::SUCCESS)
    }
}

/// Asks the system to open an address. Where it cannot, the printed address remains.
fn open_browser(address: &str) {
    let (program, before): (&str, &[&str]) = if cfg!(target_os = "macos") {
        ("open", &[])
    } else if cfg!(windows) {
        ("rundll32", &["url.dll,FileProtocolHandler"])
    } else {
        ("xdg-open", &[])
    };
    let silent = || Stdio::null();
    let opened = Command::new(program)
        .args(before)
        .arg(address)
        .stdin(silent())
        .stdout(silent())
        .stderr(silent())
        .spawn();
    if opened.is_err() {
        output::say("no browser could be opened; open the address above in one");
    }
}
