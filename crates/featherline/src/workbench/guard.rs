//! Who may ask: only this machine, only our own page, and only with the key of this run.
//!
//! Any page in any browser on this machine can send requests to a local port. So the name that was
//! asked for must be this machine's own (no other site can then be led here by its address), the
//! page that asks must be ours, and the browser must hold the key that the program printed.

use std::net::SocketAddr;

use axum::body::Body;
use axum::extract::State;
use axum::http::header::{
    CACHE_CONTROL, CONTENT_SECURITY_POLICY, COOKIE, HOST, LOCATION, ORIGIN, REFERRER_POLICY,
    SET_COOKIE, UPGRADE, X_CONTENT_TYPE_OPTIONS, X_FRAME_OPTIONS,
};
use axum::http::{HeaderMap, HeaderValue, Method, Request, StatusCode, Uri};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};

use super::trouble::{Refusal, Trouble};

/// What the page may load: only what comes from here. Its views paint from data of their own
/// making (`blob:` pictures and workers), and Svelte sets styles on elements.
const OWN_ONLY: &str = "default-src 'self'; script-src 'self'; worker-src 'self' blob:; img-src 'self' \
    blob: data:; style-src 'self' 'unsafe-inline'; object-src 'self' blob:; frame-src 'self' blob:; \
    base-uri 'none'; form-action 'self'; frame-ancestors 'none'";

/// The key of one run, and the port it holds for.
#[derive(Debug, Clone)]
pub(super) struct Guard {
    key: String,
    port: u16,
    /// Whether it watches the door to the local network, where this machine goes by the address that
    /// it was reached at.
    network: bool,
}

impl Guard {
    /// A guard with a new key, for this machine alone.
    pub(super) fn new(port: u16) -> Result<Self, getrandom::Error> {
        let mut bytes = [0_u8; 24];
        getrandom::fill(&mut bytes)?;
        let key = bytes.iter().map(|b| format!("{b:02x}")).collect();
        Ok(Self { key, port, network: false })
    }

    /// A guard with a new key, for the local network.
    pub(super) fn of_network(port: u16) -> Result<Self, getrandom::Error> {
        Ok(Self { network: true, ..Self::new(port)? })
    }

    /// The address to open: it hands the key to the browser once.
    pub(super) fn address(&self) -> String {
        format!("http://127.0.0.1:{}/?key={}", self.port, self.key)
    }

    /// Cookies are shared by all ports of a machine, so the name tells them apart.
    fn cookie(&self) -> String {
        format!("featherline-{}", self.port)
    }

    /// Gives a browser the key, and shows it the page.
    pub(super) fn let_in(&self) -> Response {
        let cookie = format!("{}; Path=/; HttpOnly; SameSite=Strict", self.pair());
        (StatusCode::SEE_OTHER, [(LOCATION, "/".to_owned()), (SET_COOKIE, cookie)]).into_response()
    }

    /// The cookie by which a browser shows that it holds the key.
    pub(super) fn pair(&self) -> String {
        format!("{}={}", self.cookie(), self.key)
    }

    /// Whether `host` names this machine. In the network only by number: a name could be led here
    /// by anyone who owns it.
    fn is_own_host(&self, host: &str, reached: Option<SocketAddr>) -> bool {
        if self.network {
            return reached.is_some_and(|address| host == address.to_string());
        }
        ["127.0.0.1", "localhost", "[::1]"].iter().any(|own| host == format!("{own}:{}", self.port))
    }

    fn is_own_page(&self, origin: &str, reached: Option<SocketAddr>) -> bool {
        origin.strip_prefix("http://").is_some_and(|host| self.is_own_host(host, reached))
    }

    pub(super) fn holds_key(&self, headers: &HeaderMap) -> bool {
        let name = self.cookie();
        let cookies = headers.get_all(COOKIE).iter().filter_map(|value| value.to_str().ok());
        let mut pairs =
            cookies.flat_map(|line| line.split(';')).filter_map(|c| c.trim().split_once('='));
        pairs.any(|(n, value)| n == name && same(value.as_bytes(), self.key.as_bytes()))
    }

    /// Whether the address itself brings the key: the way in from the program's own printout.
    fn brings_key(&self, uri: &Uri) -> bool {
        let mut pairs =
            uri.query().unwrap_or_default().split('&').filter_map(|p| p.split_once('='));
        uri.path() == "/"
            && pairs.any(|(n, v)| n == "key" && same(v.as_bytes(), self.key.as_bytes()))
    }
}

/// Whether two texts are the same, in a time that does not tell how far they are.
pub(super) fn same(a: &[u8], b: &[u8]) -> bool {
    a.len() == b.len() && a.iter().zip(b).fold(0, |differ, (x, y)| differ | (x ^ y)) == 0
}

/// Lets through what may ask, and says on every answer what the page may do.
pub(super) async fn watch(
    State(guard): State<Guard>,
    request: Request<Body>,
    next: Next,
) -> Response {
    let response = match admit(&guard, &request) {
        Ok(true) => guard.let_in(),
        Ok(false) => next.run(request).await,
        Err(refusal) => refusal.into_response(),
    };
    confined(response)
}

/// An answer that says what the page may do.
pub(super) fn confined(mut response: Response) -> Response {
    let headers = response.headers_mut();
    headers.insert(CONTENT_SECURITY_POLICY, HeaderValue::from_static(OWN_ONLY));
    headers.insert(X_CONTENT_TYPE_OPTIONS, HeaderValue::from_static("nosniff"));
    headers.insert(X_FRAME_OPTIONS, HeaderValue::from_static("DENY"));
    headers.entry(REFERRER_POLICY).or_insert(HeaderValue::from_static("no-referrer"));
    headers.entry(CACHE_CONTROL).or_insert(HeaderValue::from_static("no-store"));
    response
}

/// Refuses a request that was led here under another name, or sent by another page. In the network it
/// counts at which address of this machine it was `reached`.
pub(super) fn from_own_page(
    guard: &Guard,
    reached: Option<SocketAddr>,
    request: &Request<Body>,
) -> Result<(), Refusal> {
    let headers = request.headers();
    let refused =
        |message: &str, hint: &str| Refusal(StatusCode::FORBIDDEN, Trouble::new(message, hint));
    let mut hosts = headers.get_all(HOST).iter().filter_map(|h| h.to_str().ok());
    let own = hosts.next().is_some_and(|host| guard.is_own_host(host, reached));
    if !own || hosts.next().is_some() {
        return Err(refused(
            "this address is not the workbench's own",
            "open the address that the program printed",
        ));
    }
    let changes = request.method() != Method::GET || headers.contains_key(UPGRADE);
    let origin = headers.get(ORIGIN).map(|o| o.to_str().unwrap_or_default());
    let foreign = origin.is_some_and(|origin| !guard.is_own_page(origin, reached));
    if foreign || (changes && origin.is_none()) {
        return Err(refused("another page asked for this", "use the workbench's own page"));
    }
    Ok(())
}

/// Whether the request brings the key in its address (`true`) or has it already.
fn admit(guard: &Guard, request: &Request<Body>) -> Result<bool, Refusal> {
    from_own_page(guard, None, request)?;
    let headers = request.headers();
    if guard.holds_key(headers) {
        // The key is of no more use in the address.
        return Ok(guard.brings_key(request.uri()));
    }
    if guard.brings_key(request.uri()) {
        return Ok(true);
    }
    Err(Refusal(
        StatusCode::UNAUTHORIZED,
        Trouble::new(
            "this browser does not hold the key of the running program",
            "open the whole address that the program printed, the part behind the ? too",
        ),
    ))
}
