//! A tablet at the bench: off, unless the user switches it on. Then the server also answers in the
//! local network, to devices that entered the code shown on this screen.
//!
//! The code is good for a few minutes and a few tries; then a new one must be asked for. Switched
//! off, all devices are forgotten.

use std::net::{IpAddr, Ipv4Addr, SocketAddr, UdpSocket};
use std::sync::{Arc, Mutex, PoisonError};
use std::time::{Duration, Instant};

use axum::Json;
use axum::body::{Body, to_bytes};
use axum::extract::State;
use axum::http::header::CONTENT_TYPE;
use axum::http::{Method, Request, StatusCode};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};
use serde::{Deserialize, Serialize};
use tokio::net::TcpListener;
use tokio::sync::oneshot;

use super::guard::{Guard, Reached, confined, from_own_page, same};
use super::trouble::{Refusal, Trouble};
use super::{Workbench, jobs_router};

/// How long a code is good.
const GOOD_FOR: Duration = Duration::from_secs(10 * 60);

/// How many wrong codes are taken: of a million codes that is nothing to guess with.
const TRIES: u32 = 5;

/// What an unpaired device is shown.
const ENTER_CODE: &str = include_str!("tablet.html");

/// Where the sentence about the last try stands in it.
const REMARK: &str = "<!-- remark -->";

/// Whether the tablet is on, and what it needs then.
#[derive(Default)]
pub(super) struct Tablet {
    on: Mutex<Option<On>>,
}

struct On {
    guard: Guard,
    port: u16,
    code: String,
    until: Instant,
    tries: u32,
    paired: u32,
    /// Ends the listener when dropped.
    _stop: oneshot::Sender<()>,
}

/// What the page is told.
#[derive(Debug, Serialize)]
pub(super) struct TabletTold {
    on: bool,
    /// To be opened on the tablet.
    address: Option<String>,
    /// To be entered there; null when it is used up or too old.
    code: Option<String>,
    /// For how many seconds the code is still good.
    seconds: u64,
    /// How many devices entered it.
    paired: u32,
}

#[derive(Debug, Deserialize)]
pub(super) struct Switch {
    on: bool,
}

impl On {
    fn is_good(&self) -> bool {
        self.tries < TRIES && Instant::now() < self.until
    }

    fn told(&self) -> TabletTold {
        TabletTold {
            on: true,
            address: Some(format!("http://{}", SocketAddr::from((own_address(), self.port)))),
            code: self.is_good().then(|| self.code.clone()),
            seconds: self.until.saturating_duration_since(Instant::now()).as_secs(),
            paired: self.paired,
        }
    }
}

impl Tablet {
    fn told(&self) -> TabletTold {
        let on = self.on.lock().unwrap_or_else(PoisonError::into_inner);
        on.as_ref().map_or(
            TabletTold { on: false, address: None, code: None, seconds: 0, paired: 0 },
            On::told,
        )
    }

    /// Whether this is the code; counts a wrong one. A code pairs one device.
    fn enter(&self, code: &str) -> Result<Guard, &'static str> {
        let mut on = self.on.lock().unwrap_or_else(PoisonError::into_inner);
        let on = on.as_mut().ok_or("the tablet was switched off")?;
        if !on.is_good() {
            return Err("this code is used up or too old; ask for a new one at the bench");
        }
        let digits: String = code.chars().filter(char::is_ascii_digit).collect();
        if !same(digits.as_bytes(), on.code.as_bytes()) {
            on.tries += 1;
            return Err("this is not the code");
        }
        on.paired += 1;
        on.tries = TRIES;
        Ok(on.guard.clone())
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
    if !on {
        *bench.tablet.on.lock().unwrap_or_else(PoisonError::into_inner) = None;
        return Ok(Json(bench.tablet.told()));
    }
    let code = new_code().map_err(|error| Refusal::unexpected(&error))?;
    let until = Instant::now() + GOOD_FOR;
    {
        let mut on = bench.tablet.on.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(on) = on.as_mut() {
            (on.code, on.until, on.tries) = (code, until, 0);
            return Ok(Json(on.told()));
        }
    }
    let listener = TcpListener::bind(SocketAddr::from((Ipv4Addr::UNSPECIFIED, 0))).await;
    let listener = listener.map_err(|error| Refusal::unexpected(&error))?;
    let port = listener.local_addr().map_err(|error| Refusal::unexpected(&error))?.port();
    let guard = Guard::of_network(port).map_err(|error| Refusal::unexpected(&error))?;
    let (stop, stopped) = oneshot::channel();
    let door = Door { bench: bench.clone(), guard: guard.clone() };
    let router = jobs_router(bench.clone())
        .layer(axum::middleware::from_fn_with_state(door, watch))
        .into_make_service_with_connect_info::<Reached>();
    tokio::spawn(async move {
        let serving = axum::serve(listener, router);
        tokio::select! {
            _ = serving => {}
            _ = stopped => {}
        }
    });
    let on = On { guard, port, code, until, tries: 0, paired: 0, _stop: stop };
    let told = on.told();
    *bench.tablet.on.lock().unwrap_or_else(PoisonError::into_inner) = Some(on);
    Ok(Json(told))
}

/// The door to the local network.
#[derive(Clone)]
struct Door {
    bench: Arc<Workbench>,
    guard: Guard,
}

/// Lets devices through that entered the code, and asks the others for it.
async fn watch(State(door): State<Door>, request: Request<Body>, next: Next) -> Response {
    if let Err(refusal) = from_own_page(&door.guard, &request) {
        return confined(refusal.into_response());
    }
    // A line that is open when the tablet is switched off must not go on.
    if door.bench.tablet.told().on && door.guard.holds_key(request.headers()) {
        return confined(next.run(request).await);
    }
    let entering = request.uri().path() == "/pair" && request.method() == Method::POST;
    let response = if entering {
        // A code is short; more is none.
        let body = to_bytes(request.into_body(), 256).await.unwrap_or_default();
        let code = String::from_utf8_lossy(&body);
        match door.bench.tablet.enter(code.strip_prefix("code=").unwrap_or_default()) {
            Ok(guard) => guard.let_in(),
            Err(why) => enter_code(StatusCode::FORBIDDEN, why),
        }
    } else if request.uri().path() == "/" {
        enter_code(StatusCode::OK, "")
    } else {
        let hint = "open the first page and enter the code shown at the bench";
        let trouble = Trouble::new("this device is not paired", hint);
        Refusal(StatusCode::UNAUTHORIZED, trouble).into_response()
    };
    confined(response)
}

fn enter_code(status: StatusCode, why: &str) -> Response {
    let page = ENTER_CODE.replace(REMARK, why);
    (status, [(CONTENT_TYPE, "text/html; charset=utf-8")], page).into_response()
}

/// Six digits.
fn new_code() -> Result<String, getrandom::Error> {
    let random = u64::from(getrandom::u32()?);
    // A slight preference for small numbers is of no help to anyone with five tries.
    Ok(format!("{:06}", (random * 1_000_000) >> 32))
}

/// This machine's address in the local network: the one it would send from. Nothing is sent.
fn own_address() -> IpAddr {
    let ask = || {
        let socket = UdpSocket::bind((Ipv4Addr::UNSPECIFIED, 0)).ok()?;
        // An address set aside for documentation (RFC 5737), so that none is reached by mistake.
        socket.connect((Ipv4Addr::new(192, 0, 2, 1), 9)).ok()?;
        socket.local_addr().ok().map(|address| address.ip())
    };
    ask().unwrap_or(IpAddr::V4(Ipv4Addr::LOCALHOST))
}

#[cfg(test)]
mod tests {
    use super::*;
    use axum::Router;
    use axum::extract::ConnectInfo;
    use http_body_util::BodyExt;
    use tower::ServiceExt;

    use crate::workbench::workshop::Workshop;

    const ADDRESS: &str = "192.168.1.20:4711";

    /// A server whose tablet is on, and its door to the network.
    async fn switched_on(place: &tempfile::TempDir) -> (Arc<Workbench>, Router, String) {
        let workshop = Workshop::at(place.path()).expect("made");
        let bench = Arc::new(Workbench::new(workshop));
        let told = switch(State(bench.clone()), Json(Switch { on: true })).await.expect("on").0;
        let guard = {
            let on = bench.tablet.on.lock().expect("whole");
            on.as_ref().expect("on").guard.clone()
        };
        let door = Door { bench: bench.clone(), guard };
        let router =
            jobs_router(bench.clone()).layer(axum::middleware::from_fn_with_state(door, watch));
        (bench, router, told.code.expect("a code"))
    }

    async fn ask(
        router: &Router,
        method: Method,
        path: &str,
        headers: &[(&str, &str)],
        body: &str,
    ) -> (StatusCode, String, String) {
        let mut request = Request::builder().method(method).uri(path);
        for (name, value) in headers {
            request = request.header(*name, *value);
        }
        let mut request = request.body(Body::from(body.to_owned())).expect("a request");
        request.extensions_mut().insert(ConnectInfo(Reached(ADDRESS.parse().ok())));
        let response = router.clone().oneshot(request).await.expect("an answer");
        let cookie =
            response.headers().get("set-cookie").map(|c| c.to_str().unwrap_or_default().to_owned());
        let status = response.status();
        let body = response.into_body().collect().await.expect("whole").to_bytes();
        (status, cookie.unwrap_or_default(), String::from_utf8_lossy(&body).into_owned())
    }

    fn run<T>(future: impl Future<Output = T>) -> T {
        let runtime = tokio::runtime::Builder::new_multi_thread().enable_all().build();
        runtime.expect("threads").block_on(future)
    }

    #[test]
    fn only_a_device_with_the_code_gets_in_and_only_while_it_is_on() {
        let place = tempfile::tempdir().expect("a folder");
        run(async {
            let (bench, router, code) = switched_on(&place).await;
            let origin = format!("http://{ADDRESS}");
            let own = [("host", ADDRESS), ("origin", origin.as_str())];
            let (status, _, page) = ask(&router, Method::GET, "/", &own[..1], "").await;
            assert_eq!((status, page.contains("code of six digits")), (StatusCode::OK, true));
            let (status, ..) = ask(&router, Method::GET, "/api/jobs", &own[..1], "").await;
            assert_eq!(status, StatusCode::UNAUTHORIZED);
            let wrong = if code == "000000" { "code=000001" } else { "code=000000" };
            let (status, cookie, page) = ask(&router, Method::POST, "/pair", &own, wrong).await;
            assert_eq!((status, cookie.as_str()), (StatusCode::FORBIDDEN, ""));
            assert!(page.contains("this is not the code"), "{page}");
            let right = format!("code={code}");
            let (status, cookie, _) = ask(&router, Method::POST, "/pair", &own, &right).await;
            assert_eq!(status, StatusCode::SEE_OTHER);
            let pair = cookie.split(';').next().expect("a cookie").to_owned();
            let paired = [own[0], ("cookie", pair.as_str())];
            let (status, ..) = ask(&router, Method::GET, "/api/jobs", &paired, "").await;
            assert_eq!(status, StatusCode::OK);
            // A tablet switches nothing, and a code pairs one device.
            let (status, ..) = ask(&router, Method::GET, "/api/tablet", &paired, "").await;
            assert_eq!(status, StatusCode::NOT_FOUND);
            let (status, ..) = ask(&router, Method::POST, "/pair", &own, &right).await;
            assert_eq!(status, StatusCode::FORBIDDEN);
            for (host, origin) in [
                ("featherline.example", origin.as_str()),
                ("127.0.0.1:4711", &origin),
                (ADDRESS, "http://example.com"),
            ] {
                let headers = [("host", host), ("origin", origin), paired[1]];
                let (status, ..) = ask(&router, Method::GET, "/api/jobs", &headers, "").await;
                assert_eq!(status, StatusCode::FORBIDDEN, "{host} {origin}");
            }
            let _ = switch(State(bench), Json(Switch { on: false })).await.expect("off");
            let (status, ..) = ask(&router, Method::GET, "/api/jobs", &paired, "").await;
            assert_eq!(status, StatusCode::UNAUTHORIZED, "forgotten");
        });
    }

    #[test]
    fn five_wrong_codes_use_the_code_up() {
        let place = tempfile::tempdir().expect("a folder");
        run(async {
            let (bench, router, code) = switched_on(&place).await;
            let origin = format!("http://{ADDRESS}");
            let own = [("host", ADDRESS), ("origin", origin.as_str())];
            for _ in 0..TRIES {
                let (status, ..) = ask(&router, Method::POST, "/pair", &own, "code=12").await;
                assert_eq!(status, StatusCode::FORBIDDEN);
            }
            let right = format!("code={code}");
            let (status, _, page) = ask(&router, Method::POST, "/pair", &own, &right).await;
            assert_eq!((status, page.contains("used up")), (StatusCode::FORBIDDEN, true));
            // A new code lets in again.
            let told = switch(State(bench), Json(Switch { on: true })).await.expect("on").0;
            let code = told.code.expect("a new code");
            let right = format!("code={}+{}", &code[..3], &code[3..]);
            let (status, ..) = ask(&router, Method::POST, "/pair", &own, &right).await;
            assert_eq!(status, StatusCode::SEE_OTHER);
        });
    }
}
