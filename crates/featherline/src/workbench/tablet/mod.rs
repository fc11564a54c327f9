//! A tablet at the bench: off, unless the user switches it on. Then the server also answers in the
//! local network, to devices that entered the code shown on this screen.
//!
//! The code is good for a few minutes and a few tries; then a new one must be asked for. Switched
//! off, all devices are forgotten and all their lines end.

mod code;
mod door;
mod network;
mod pair_page;
#[cfg(test)]
mod tests;

use std::net::{IpAddr, Ipv4Addr, SocketAddr};
use std::sync::atomic::{AtomicU16, AtomicU32, Ordering};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use axum::extract::State;
use axum::http::StatusCode;
use axum::middleware::from_fn_with_state;
use axum::{Json, Router};
use serde::{Deserialize, Serialize};
use tokio::sync::watch;

use super::guard::Guard;
use super::trouble::{Refusal, Trouble};
use super::{Workbench, jobs_router};
use code::{Code, NotIn, Spent};
use door::Door;
use network::{Caller, Network, own_address, switched_off};

/// Whether the tablet is on, and what it needs then.
#[derive(Default)]
pub(super) struct Tablet {
    on: Mutex<Option<On>>,
    /// Where it answered last: there again, a tablet finds it by the address that it knows.
    port: AtomicU16,
}

struct On {
    port: u16,
    pairing: Arc<Pairing>,
    /// Dropped, it ends the listener and every line that came by it.
    off: watch::Sender<()>,
    /// Ends when the listener is gone.
    served: tokio::task::JoinHandle<()>,
}

/// How devices are paired for one time that the tablet is on.
struct Pairing {
    code: Mutex<Code>,
    paired: AtomicU32,
}

/// What the page is told.
#[derive(Debug, Default, Serialize)]
pub(super) struct TabletTold {
    on: bool,
    /// To be opened on the tablet; where there is no network, it leads to this machine alone.
    address: Option<String>,
    /// Whether this machine has an address in a network.
    network: bool,
    /// To be entered there; null when it is spent.
    code: Option<String>,
    /// Why there is no code.
    spent: Option<Spent>,
    /// For how many seconds the code is still good.
    seconds: u64,
    /// How many devices entered a code.
    paired: u32,
}

#[derive(Debug, Deserialize)]
pub(super) struct Switch {
    on: bool,
}

impl Pairing {
    fn new() -> Result<Self, Refusal> {
        Ok(Self { code: Mutex::new(new_code()?), paired: AtomicU32::new(0) })
    }

    fn code(&self) -> MutexGuard<'_, Code> {
        self.code.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Takes what was entered; a code pairs one device.
    fn enter(&self, form: &str) -> Result<(), NotIn> {
        self.code().enter(form)?;
        self.paired.fetch_add(1, Ordering::Relaxed);
        Ok(())
    }
}

impl On {
    fn told(&self) -> TabletTold {
        let own = own_address();
        let at = SocketAddr::from((own.unwrap_or(IpAddr::V4(Ipv4Addr::LOCALHOST)), self.port));
        let code = self.pairing.code();
        TabletTold {
            on: true,
            address: Some(format!("http://{at}")),
            network: own.is_some(),
            code: code.digits().map(str::to_owned),
            spent: code.spent(),
            seconds: code.left().as_secs(),
            paired: self.pairing.paired.load(Ordering::Relaxed),
        }
    }
}

impl Tablet {
    fn on(&self) -> MutexGuard<'_, Option<On>> {
        self.on.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn told(&self) -> TabletTold {
        self.on().as_ref().map_or_else(TabletTold::default, On::told)
    }

    /// Gives a new code, if it is on.
    fn renew(&self) -> Result<Option<TabletTold>, Refusal> {
        let on = self.on();
        let Some(on) = on.as_ref() else { return Ok(None) };
        *on.pairing.code() = new_code()?;
        Ok(Some(on.told()))
    }
}

/// Says whether the tablet is on.
pub(super) async fn ask(State(bench): State<Arc<Workbench>>) -> Json<TabletTold> {
    Json(bench.tablet.told())
}

/// Switches the tablet on, or gives a new code; or switches it off and forgets all devices.
pub(super) async fn switch(
    State(bench): State<Arc<Workbench>>,
    Json(Switch { on }): Json<Switch>,
) -> Result<Json<TabletTold>, Refusal> {
    let tablet = &bench.tablet;
    if !on {
        let was = tablet.on().take();
        if let Some(On { served, off, .. }) = was {
            drop(off);
            // Only then is the listener gone, and the next device refused.
            let _ = served.await;
        }
        return Ok(Json(tablet.told()));
    }
    if let Some(told) = tablet.renew()? {
        return Ok(Json(told));
    }
    let (off, is_off) = watch::channel(());
    let network = Network::at(tablet.port.load(Ordering::Relaxed), is_off.clone()).await;
    let network = network.map_err(|error| no_listener(&error))?;
    let port = network.port().map_err(|error| no_listener(&error))?;
    let guard = Guard::of_network(port).map_err(|error| Refusal::unexpected(&error))?;
    let pairing = Arc::new(Pairing::new()?);
    let router = through(Door { pairing: pairing.clone(), guard, off: is_off.clone() }, &bench);
    let served = tokio::spawn(async move {
        let router = router.into_make_service_with_connect_info::<Caller>();
        tokio::select! {
            () = switched_off(is_off) => {}
            _ = axum::serve(network, router) => {}
        }
    });
    let told = {
        let mut on = tablet.on();
        // Another window may have been faster; its listener stays, and this one goes.
        on.get_or_insert(On { port, pairing, off, served }).told()
    };
    tablet.port.store(port, Ordering::Relaxed);
    Ok(Json(told))
}

/// What a device may ask for that comes through the door.
fn through(door: Door, bench: &Arc<Workbench>) -> Router {
    jobs_router(bench.clone()).layer(from_fn_with_state(door, door::watch))
}

fn new_code() -> Result<Code, Refusal> {
    Code::new().map_err(|error| Refusal::unexpected(&error))
}

fn no_listener(error: &std::io::Error) -> Refusal {
    let message = format!("this machine does not let the program answer in the network: {error}");
    let hint = "a firewall or a guard against viruses may forbid it: let Featherline through there, \
                then switch on once more";
    Refusal(StatusCode::INTERNAL_SERVER_ERROR, Trouble::new(message, hint))
}
