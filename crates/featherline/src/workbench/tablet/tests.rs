//! A tablet at the bench, by its door without a port, and by real lines that must end.

use std::io::{Read, Write};
use std::net::TcpStream;
use std::time::{Duration, Instant};

use axum::body::Body;
use axum::extract::ConnectInfo;
use axum::http::{Method, Request};
use http_body_util::BodyExt;
use tempfile::TempDir;
use tower::ServiceExt;

use super::*;
use crate::workbench::jobs::make_demo;
use crate::workbench::workshop::Workshop;

const ADDRESS: &str = "192.168.1.20:4711";
const ORIGIN: &str = "http://192.168.1.20:4711";

/// What every form of our own page brings.
const OWN: [(&str, &str); 2] = [("host", ADDRESS), ("origin", ORIGIN)];

struct Answer {
    status: StatusCode,
    cookie: String,
    referrer: String,
    body: String,
}

/// A server whose tablet is on.
struct Bench {
    place: TempDir,
    bench: Arc<Workbench>,
    /// The door to the network, with a guard that believes in its port.
    door: Router,
    pairing: Arc<Pairing>,
    /// Switches the door off that has no port.
    off: Option<watch::Sender<()>>,
}

impl Bench {
    fn new() -> Self {
        let place = tempfile::tempdir().expect("a folder");
        let workshop = Workshop::at(place.path()).expect("made");
        let bench = Arc::new(Workbench::new(workshop));
        let pairing = Arc::new(Pairing::new().expect("a code"));
        let guard = Guard::of_network(4711).expect("random numbers");
        let (off, is_off) = watch::channel(());
        let door = through(Door { pairing: pairing.clone(), guard, off: is_off }, &bench);
        Self { place, bench, door, pairing, off: Some(off) }
    }

    fn code(&self) -> String {
        format!("code={}", self.pairing.code().digits().expect("a code"))
    }

    /// Six digits that are not the code.
    fn wrong(&self) -> &'static str {
        if self.code() == "code=000000" { "code=000001" } else { "code=000000" }
    }

    async fn ask(
        &self,
        method: Method,
        path: &str,
        headers: &[(&str, &str)],
        body: impl Into<Body>,
    ) -> Answer {
        let mut request = Request::builder().method(method).uri(path);
        for (name, value) in headers {
            request = request.header(*name, *value);
        }
        let mut request = request.body(body.into()).expect("a request");
        request.extensions_mut().insert(ConnectInfo(Caller::at(ADDRESS)));
        let response = self.door.clone().oneshot(request).await.expect("an answer");
        let said = |name: &str| {
            let value = response.headers().get(name).map(|v| v.to_str().unwrap_or_default());
            value.unwrap_or_default().to_owned()
        };
        let (cookie, referrer, status) =
            (said("set-cookie"), said("referrer-policy"), response.status());
        let body = response.into_body().collect().await.expect("whole").to_bytes();
        Answer { status, cookie, referrer, body: String::from_utf8_lossy(&body).into_owned() }
    }

    async fn get(&self, path: &str, headers: &[(&str, &str)]) -> StatusCode {
        self.ask(Method::GET, path, headers, "").await.status
    }

    async fn pair(&self, headers: &[(&str, &str)], form: &str) -> Answer {
        self.ask(Method::POST, "/pair", headers, form.to_owned()).await
    }

    /// A device that entered the code: its cookie.
    async fn paired(&self) -> String {
        let answer = self.pair(&OWN, &self.code()).await;
        assert_eq!(answer.status, StatusCode::SEE_OTHER);
        answer.cookie.split(';').next().expect("a cookie").to_owned()
    }
}

fn run<T>(future: impl Future<Output = T>) -> T {
    let runtime = tokio::runtime::Builder::new_multi_thread().enable_all().build();
    runtime.expect("threads").block_on(future)
}

#[test]
fn only_a_device_with_the_code_gets_in_and_only_while_it_is_on() {
    let mut bench = Bench::new();
    run(async {
        let first = bench.ask(Method::GET, "/", &OWN[..1], "").await;
        assert_eq!((first.status, first.body.contains("six digits")), (StatusCode::OK, true));
        // A page without any referrer would send its form from nowhere, `Origin: null`.
        assert_eq!(first.referrer, "same-origin");
        assert_eq!(bench.get("/api/jobs", &OWN[..1]).await, StatusCode::UNAUTHORIZED);
        let answer = bench.pair(&OWN, bench.wrong()).await;
        assert_eq!((answer.status, answer.cookie.as_str()), (StatusCode::FORBIDDEN, ""));
        assert!(answer.body.contains("not the code"), "{}", answer.body);
        let code = bench.code();
        let cookie = bench.paired().await;
        let paired = [OWN[0], ("cookie", cookie.as_str())];
        assert_eq!(bench.get("/api/jobs", &paired).await, StatusCode::OK);
        // A tablet switches nothing, and a code pairs one device.
        assert_eq!(bench.get("/api/tablet", &paired).await, StatusCode::NOT_FOUND);
        let switching = [OWN[0], OWN[1], paired[1], ("content-type", "application/json")];
        let answer = bench.ask(Method::POST, "/api/tablet", &switching, "{\"on\":true}").await;
        assert_eq!(answer.status, StatusCode::NOT_FOUND);
        assert_eq!(bench.pair(&OWN, &code).await.status, StatusCode::FORBIDDEN);
        // One that is paired and goes back to the form comes to the jobs.
        let again = bench.pair(&[OWN[0], OWN[1], paired[1]], &code).await;
        assert_eq!(again.status, StatusCode::SEE_OTHER);
        bench.off = None;
        let gone = bench.ask(Method::GET, "/api/jobs", &paired, "").await;
        assert_eq!(gone.status, StatusCode::UNAUTHORIZED, "forgotten");
        assert!(gone.body.contains("switched off"), "{}", gone.body);
    });
}

#[test]
fn only_its_own_page_asks_and_only_by_its_number() {
    let bench = Bench::new();
    run(async {
        // The right code, brought by a page of someone else or under another name, lets nobody in and
        // stays good.
        for (host, origin) in [
            ("featherline.example:4711", ORIGIN),
            ("featherline.example:4711", "http://featherline.example:4711"),
            ("localhost:4711", "http://localhost:4711"),
            ("127.0.0.1:4711", "http://127.0.0.1:4711"),
            ("0.0.0.0:4711", "http://0.0.0.0:4711"),
            ("192.168.1.20", "http://192.168.1.20"),
            ("192.168.1.20:4712", "http://192.168.1.20:4712"),
            (ADDRESS, "http://example.com"),
            (ADDRESS, "https://192.168.1.20:4711"),
            (ADDRESS, "null"),
            (ADDRESS, ""),
        ] {
            let headers = [("host", host), ("origin", origin)];
            let answer = bench.pair(&headers, &bench.code()).await;
            assert_eq!(answer.status, StatusCode::FORBIDDEN, "{host} {origin}");
            assert_eq!(answer.cookie, "", "{host} {origin}");
        }
        let answer = bench.pair(&OWN[..1], &bench.code()).await;
        assert_eq!((answer.status, answer.cookie.as_str()), (StatusCode::FORBIDDEN, ""));
        let cookie = bench.paired().await;
        for (host, origin) in [("featherline.example", ORIGIN), (ADDRESS, "http://example.com")] {
            let headers = [("host", host), ("origin", origin), ("cookie", cookie.as_str())];
            assert_eq!(bench.get("/api/jobs", &headers).await, StatusCode::FORBIDDEN);
        }
        // The key of another port of this machine, or none, is no key.
        let other = cookie.replace("4711", "4712");
        for cookie in ["featherline-4711=", "featherline-4711", other.as_str()] {
            let headers = [OWN[0], ("cookie", cookie)];
            assert_eq!(bench.get("/api/jobs", &headers).await, StatusCode::UNAUTHORIZED);
        }
    });
}

#[test]
fn five_wrong_codes_use_the_code_up_whatever_else_is_sent() {
    let bench = Bench::new();
    run(async {
        let escape = "code=<script>alert(1)</script>";
        let long = "9".repeat(300);
        for slip in ["", "code=12", escape, "{{remark}}", long.as_str()] {
            let answer = bench.pair(&OWN, slip).await;
            assert_eq!(answer.status, StatusCode::FORBIDDEN);
            assert!(!answer.body.contains("alert(1)") && !answer.body.contains("999"), "{slip}");
        }
        let right = bench.code();
        for _ in 0..code::TRIES {
            assert_eq!(bench.pair(&OWN, bench.wrong()).await.status, StatusCode::FORBIDDEN);
        }
        let answer = bench.pair(&OWN, &right).await;
        assert_eq!((answer.status, answer.body.contains("used up")), (StatusCode::FORBIDDEN, true));
        assert_eq!(bench.pairing.code().spent(), Some(Spent::Wrong));
        // A new code lets in again.
        *bench.pairing.code() = new_code().expect("a code");
        let _ = bench.paired().await;
    });
}

/// A line of a device to a port of this machine, as raw as an attacker's.
struct Raw(TcpStream, String);

impl Raw {
    fn open(port: u16) -> Self {
        let stream = TcpStream::connect(("127.0.0.1", port)).expect("a line");
        stream.set_read_timeout(Some(Duration::from_secs(60))).expect("set");
        Self(stream, format!("127.0.0.1:{port}"))
    }

    fn send(&mut self, first: &str, more: &str, body: &str) {
        let host = &self.1;
        let request = format!(
            "{first} HTTP/1.1\r\nHost: {host}\r\nOrigin: http://{host}\r\n{more}\r\n{body}"
        );
        self.0.write_all(request.as_bytes()).expect("sent");
    }

    /// Reads until it has seen this.
    fn until(&mut self, wanted: &str) -> String {
        let mut seen = Vec::new();
        let mut some = [0; 4096];
        while !String::from_utf8_lossy(&seen).contains(wanted) {
            let n = self.0.read(&mut some).expect("more");
            assert_ne!(n, 0, "it ended before {wanted}: {}", String::from_utf8_lossy(&seen));
            seen.extend_from_slice(&some[..n]);
        }
        String::from_utf8_lossy(&seen).into_owned()
    }

    /// Whether the other end closed it; waits for that, and fails where it stays open.
    fn ends(mut self) {
        let mut some = [0; 65536];
        let begun = Instant::now();
        loop {
            // A window that is still open is pinged, and so never silent for long.
            assert!(begun.elapsed() < Duration::from_secs(120), "the line is still open");
            match self.0.read(&mut some) {
                Ok(0) => return,
                Ok(_) => {}
                Err(error) if error.kind() == std::io::ErrorKind::ConnectionReset => return,
                Err(error) => panic!("the line is still open: {error}"),
            }
        }
    }
}

#[test]
fn switched_off_every_line_of_a_device_ends_and_none_opens() {
    let bench = Bench::new();
    let server = bench.bench.clone();
    make_demo(&Workshop::at(bench.place.path()).expect("there")).expect("a job");
    run(async {
        let on = |on| switch(State(server.clone()), Json(Switch { on }));
        let told = on(true).await.expect("on").0;
        let port: u16 = told
            .address
            .expect("one")
            .rsplit(':')
            .next()
            .expect("a port")
            .parse()
            .expect("a number");
        let code = format!("code={}", told.code.expect("a code"));
        let devices = move || {
            let mut pairing = Raw::open(port);
            pairing.send("POST /pair", &format!("Content-Length: {}\r\n", code.len()), &code);
            let answer = pairing.until("\r\n\r\n").to_lowercase();
            let cookie = answer.split("set-cookie: ").nth(1).expect("paired");
            let cookie = format!("Cookie: {}\r\n", cookie.split(';').next().expect("a cookie"));
            let mut idle = Raw::open(port);
            idle.send("GET /api/jobs", &cookie, "");
            let _ = idle.until("demo-job");
            let mut window = Raw::open(port);
            let upgrade = "Connection: Upgrade\r\nUpgrade: websocket\r\nSec-WebSocket-Version: 13\r\nSec-WebSocket-Key: AAAAAAAAAAAAAAAAAAAAAA==\r\n";
            window.send("GET /api/jobs/demo-job/live", &format!("{cookie}{upgrade}"), "");
            let _ = window.until("101 Switching Protocols");
            // One that has begun to send a scan, and one that has sent nothing at all.
            let mut sending = Raw::open(port);
            sending.send(
                "POST /api/scans?file=a.stl",
                &format!("{cookie}Content-Length: 9999\r\n"),
                "solid",
            );
            ([idle, window, sending, Raw::open(port)], cookie)
        };
        let (lines, cookie) = tokio::task::spawn_blocking(devices).await.expect("all opened");
        assert_eq!(server.tablet.told().paired, 1);
        let _ = on(false).await.expect("off");
        let ended = tokio::task::spawn_blocking(move || {
            lines.into_iter().for_each(Raw::ends);
            assert!(TcpStream::connect(("127.0.0.1", port)).is_err(), "nobody answers there");
        });
        ended.await.expect("all ended");
        // Switched on again it answers at the same place, and knows the device no more.
        let told = on(true).await.expect("on").0;
        assert!(told.address.expect("one").ends_with(&format!(":{port}")));
        let refused = tokio::task::spawn_blocking(move || {
            let mut line = Raw::open(port);
            line.send("GET /api/jobs", &cookie, "");
            let _ = line.until("401 Unauthorized");
            line.ends();
        });
        refused.await.expect("refused");
        let _ = on(false).await.expect("off");
    });
}
