//! The server, called without a port: who is let in, what is refused, what jobs are made of.

use std::fs;
use std::path::Path;
use std::sync::Arc;

use axum::Router;
use axum::body::Body;
use axum::http::{HeaderMap, Method, Request, StatusCode};
use http_body_util::BodyExt;
use serde_json::{Value, json};
use tempfile::TempDir;
use tower::ServiceExt;

use super::guard::Guard;
use super::workshop::Workshop;
use super::{LARGEST_SCAN, Workbench, router};
use crate::commands::demo;

/// The port that the guard believes in; nothing listens there.
const PORT: u16 = 7171;

/// A server on an empty workshop, and a browser that holds its key.
pub(super) struct Bench {
    place: TempDir,
    router: Router,
    guard: Guard,
}

pub(super) struct Answer {
    pub(super) status: StatusCode,
    headers: HeaderMap,
    pub(super) body: Vec<u8>,
}

impl Answer {
    pub(super) fn json(&self) -> Value {
        serde_json::from_slice(&self.body).unwrap_or(Value::Null)
    }

    pub(super) fn message(&self) -> String {
        self.json()["message"].as_str().unwrap_or_default().to_owned()
    }
}

impl Bench {
    pub(super) fn new() -> Self {
        let place = tempfile::tempdir().expect("a folder");
        let workshop = Workshop::at(&place.path().join("workshop")).expect("made");
        let guard = Guard::new(PORT).expect("random numbers");
        let router = router(Arc::new(Workbench::new(workshop)), guard.clone());
        Self { place, router, guard }
    }

    pub(super) fn workshop(&self) -> std::path::PathBuf {
        self.place.path().join("workshop")
    }

    /// Asks with these headers and no others.
    fn send(&self, method: Method, path: &str, headers: &[(&str, &str)], body: Vec<u8>) -> Answer {
        let mut request = Request::builder().method(method).uri(path);
        for (name, value) in headers {
            request = request.header(*name, *value);
        }
        let request = request.body(Body::from(body)).expect("a request");
        let router = self.router.clone();
        let runtime = tokio::runtime::Builder::new_multi_thread().enable_all().build();
        runtime.expect("threads").block_on(async {
            let response = router.oneshot(request).await.expect("an answer");
            let (status, headers) = (response.status(), response.headers().clone());
            let body = response.into_body().collect().await.expect("whole").to_bytes().to_vec();
            Answer { status, headers, body }
        })
    }

    /// Asks as our own page does.
    fn ask(&self, method: Method, path: &str, body: Vec<u8>) -> Answer {
        let (host, origin) = (format!("127.0.0.1:{PORT}"), format!("http://127.0.0.1:{PORT}"));
        let cookie = self.guard.pair();
        let headers = [
            ("host", host.as_str()),
            ("origin", &origin),
            ("cookie", &cookie),
            ("content-type", "application/json"),
        ];
        self.send(method, path, &headers, body)
    }

    pub(super) fn get(&self, path: &str) -> Answer {
        self.ask(Method::GET, path, Vec::new())
    }

    pub(super) fn post(&self, path: &str, body: &Value) -> Answer {
        self.ask(Method::POST, path, body.to_string().into_bytes())
    }
}

/// A tetrahedron as text.
const STL: &str = "solid a\nfacet normal 0 0 0\nouter loop\nvertex 0 0 0\nvertex 0 1 0\nvertex 1 0 0\nendloop\nendfacet\nfacet normal 0 0 0\nouter loop\nvertex 0 0 0\nvertex 1 0 0\nvertex 0 0 1\nendloop\nendfacet\nfacet normal 0 0 0\nouter loop\nvertex 0 0 0\nvertex 0 0 1\nvertex 0 1 0\nendloop\nendfacet\nfacet normal 0 0 0\nouter loop\nvertex 1 0 0\nvertex 0 1 0\nvertex 0 0 1\nendloop\nendfacet\nendsolid a\n";

#[test]
fn the_key_in_the_address_becomes_a_cookie_once() {
    let bench = Bench::new();
    let address = bench.guard.address();
    let path = address.trim_start_matches(&format!("http://127.0.0.1:{PORT}")).to_owned();
    let host = format!("localhost:{PORT}");
    let answer = bench.send(Method::GET, &path, &[("host", &host)], Vec::new());
    assert_eq!(answer.status, StatusCode::SEE_OTHER);
    let cookie = answer.headers["set-cookie"].to_str().expect("text");
    assert!(cookie.starts_with(&bench.guard.pair()), "{cookie}");
    assert!(cookie.contains("HttpOnly") && cookie.contains("SameSite=Strict"), "{cookie}");
    // The key opens nothing else, and a wrong one nothing at all.
    let elsewhere = path.replace("/?", "/api/jobs?");
    let answer = bench.send(Method::GET, &elsewhere, &[("host", &host)], Vec::new());
    assert_eq!(answer.status, StatusCode::UNAUTHORIZED);
    let answer = bench.send(Method::GET, "/?key=00", &[("host", &host)], Vec::new());
    assert_eq!(answer.status, StatusCode::UNAUTHORIZED);
}

#[test]
fn foreign_hosts_pages_and_browsers_are_refused() {
    let bench = Bench::new();
    let (host, origin) = (format!("127.0.0.1:{PORT}"), format!("http://127.0.0.1:{PORT}"));
    let cookie = bench.guard.pair();
    let good = [("host", host.as_str()), ("cookie", cookie.as_str()), ("origin", origin.as_str())];
    assert_eq!(bench.send(Method::GET, "/api/jobs", &good, Vec::new()).status, StatusCode::OK);
    let other_port = format!("127.0.0.1:{}", PORT + 1);
    let hosts = [
        "featherline.example",
        "127.0.0.1",
        &other_port,
        "127.0.0.1:7171.example",
        "0.0.0.0:7171",
        "",
    ];
    for host in hosts {
        let headers = [("host", host), good[1], good[2]];
        let answer = bench.send(Method::GET, "/api/jobs", &headers, Vec::new());
        assert_eq!(answer.status, StatusCode::FORBIDDEN, "host {host}");
    }
    let origins = [
        "http://example.com",
        "null",
        "https://127.0.0.1:7171",
        "http://127.0.0.1:7172",
        "http://127.0.0.1:7171.example",
    ];
    for origin in origins {
        for method in [Method::GET, Method::POST] {
            let headers = [good[0], good[1], ("origin", origin)];
            let answer = bench.send(method.clone(), "/api/jobs/demo", &headers, Vec::new());
            assert_eq!(answer.status, StatusCode::FORBIDDEN, "{method} from {origin}");
        }
    }
    // A form on another page sends no origin in old browsers; a line is opened by none without.
    let answer = bench.send(Method::POST, "/api/jobs/demo", &good[..2], Vec::new());
    assert_eq!(answer.status, StatusCode::FORBIDDEN);
    let headers = [good[0], good[1], ("upgrade", "websocket"), ("connection", "upgrade")];
    let answer = bench.send(Method::GET, "/api/jobs/demo-job/live", &headers, Vec::new());
    assert_eq!(answer.status, StatusCode::FORBIDDEN);
    for cookie in ["", "featherline-7171=", "featherline-7171=0123", "featherline-7172=0123"] {
        let answer =
            bench.send(Method::GET, "/api/jobs", &[good[0], ("cookie", cookie)], Vec::new());
        assert_eq!(answer.status, StatusCode::UNAUTHORIZED, "{cookie}");
    }
    assert!(!bench.workshop().join("demo-job").exists(), "nothing was made");
}

#[test]
fn every_answer_says_what_the_page_may_do() {
    let bench = Bench::new();
    let answers = [
        bench.get("/"),
        bench.get("/api/jobs"),
        bench.get("/nothing"),
        bench.send(Method::GET, "/", &[], Vec::new()),
    ];
    for answer in answers {
        let policy = answer.headers["content-security-policy"].to_str().expect("text");
        assert!(policy.contains("default-src 'self'") && policy.contains("frame-ancestors 'none'"));
        assert_eq!(answer.headers["x-content-type-options"], "nosniff");
    }
}

#[test]
fn no_path_leads_out_of_the_workshop() {
    let bench = Bench::new();
    let outside = bench.place.path().join("outside");
    fs::create_dir(&outside).expect("made");
    fs::write(outside.join("job.toml"), "secret").expect("written");
    #[cfg(unix)]
    std::os::unix::fs::symlink(&outside, bench.workshop().join("linked")).expect("linked");
    let names = [
        "../outside",
        "..%2Foutside",
        "%2e%2e%2foutside",
        "..%5Coutside",
        "linked",
        "%2Fetc",
        ".",
        "..",
        "%00",
        "a%00b",
    ];
    for name in names {
        for rest in ["/mesh/read", "/papers", "/papers/stiffener.pdf", "/live"] {
            let answer = bench.get(&format!("/api/jobs/{name}{rest}"));
            assert!(answer.status.is_client_error(), "{name}{rest}: {}", answer.status);
            assert!(!String::from_utf8_lossy(&answer.body).contains("secret"));
        }
        let answer = bench.post(&format!("/api/jobs/{name}/copy"), &json!({ "job": "taken" }));
        assert!(answer.status.is_client_error(), "copy of {name}: {}", answer.status);
    }
    for path in
        ["/../Cargo.toml", "/%2e%2e/Cargo.toml", "/assets/..%2f..%2findex.html", "//etc/passwd"]
    {
        assert_eq!(bench.get(path).status, StatusCode::NOT_FOUND, "{path}");
    }
    assert!(!bench.workshop().join("taken").exists());
}

#[test]
fn a_new_job_lies_in_the_workshop_whatever_it_is_called() {
    let bench = Bench::new();
    let last = demo::invented().expect("a last").file;
    // A header of 80 bytes, then the count.
    let triangles = u32::from_le_bytes([last[80], last[81], last[82], last[83]]);
    let put = bench.ask(Method::POST, "/api/scans?file=..%2F..%2Flast.stl", last);
    assert_eq!(put.status, StatusCode::OK, "{}", put.message());
    assert_eq!(put.json()["triangles"], triangles);
    let scan = put.json()["scan"].clone();
    for name in ["../../boot", "/etc/boot", "C:\\boot", "..", ".hidden", ""] {
        let wanted = json!({ "scan": scan, "name": name, "size": "EU 39", "heel_height": "2,5 cm", "unit": null, "foot": "left" });
        let made = bench.post("/api/jobs", &wanted);
        assert_eq!(made.status, StatusCode::CREATED, "{name}: {}", made.message());
        let job = made.json()["job"].as_str().expect("a name").to_owned();
        assert!(!job.starts_with('.') && !job.contains(['/', '\\']), "{name}: {job}");
        let text = fs::read_to_string(bench.workshop().join(&job).join("job.toml")).expect("there");
        assert!(text.contains("heel_height = 25.0") && text.contains("foot = \"left\""), "{text}");
        assert!(text.contains("pose = ["), "it goes on standing as it stands: {text}");
        assert!(bench.workshop().join(&job).join("last.stl").is_file());
    }
    let beside: Vec<_> = fs::read_dir(bench.place.path()).expect("there").flatten().collect();
    assert_eq!(beside.len(), 1, "{beside:?}");
}

#[test]
fn a_scan_that_is_no_last_makes_no_job() {
    let bench = Bench::new();
    let put = bench.ask(Method::POST, "/api/scans?file=last.stl", STL.into());
    assert_eq!(put.json()["triangles"], 4);
    let wanted = json!({ "scan": put.json()["scan"], "name": "a", "size": "EU 39", "heel_height": "", "unit": "mm", "foot": null });
    let answer = bench.post("/api/jobs", &wanted);
    assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(!answer.message().is_empty());
    assert_eq!(fs::read_dir(bench.workshop()).expect("there").count(), 0, "nothing was made");
}

#[test]
fn what_is_typed_wrong_is_refused_with_what_is_allowed() {
    let bench = Bench::new();
    let put = bench.ask(Method::POST, "/api/scans?file=last.stl", STL.into());
    let wanted = |size: &str, heel: &str, unit: Option<&str>| json!({ "scan": put.json()["scan"], "name": "a", "size": size, "heel_height": heel, "unit": unit, "foot": null });
    for (wanted, said) in [
        (wanted("US 8", "", None), "size"),
        (wanted("EU 39", "1,250", None), "1.25 or 1250"),
        (wanted("EU 39", "high", None), "no length"),
        (wanted("EU 39", "", Some("foot")), "mm"),
    ] {
        let answer = bench.post("/api/jobs", &wanted);
        assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY);
        assert!(answer.message().contains(said), "{}", answer.message());
    }
    let gone = json!({ "scan": "99", "name": "a", "size": "EU 39", "heel_height": "", "unit": null, "foot": null });
    assert_eq!(bench.post("/api/jobs", &gone).status, StatusCode::GONE);
    assert_eq!(fs::read_dir(bench.workshop()).expect("there").count(), 0, "nothing was made");
}

#[test]
fn bodies_too_large_or_malformed_are_refused() {
    let bench = Bench::new();
    let large = vec![b' '; 70 << 10];
    let answer = bench.ask(Method::POST, "/api/jobs", large);
    assert_eq!(answer.status, StatusCode::PAYLOAD_TOO_LARGE);
    for body in ["", "{", "[]", "{\"scan\":1}", "null", "\u{0}"] {
        let answer = bench.ask(Method::POST, "/api/jobs", body.into());
        assert!(answer.status.is_client_error(), "{body}: {}", answer.status);
    }
    // Said to be larger than any scan: refused before it is read.
    let (host, origin) = (format!("127.0.0.1:{PORT}"), format!("http://127.0.0.1:{PORT}"));
    let (cookie, length) = (bench.guard.pair(), (LARGEST_SCAN + 1).to_string());
    let headers = [
        ("host", host.as_str()),
        ("origin", &origin),
        ("cookie", &cookie),
        ("content-length", &length),
    ];
    let answer = bench.send(Method::POST, "/api/scans?file=a.stl", &headers, b"solid".to_vec());
    assert_eq!(answer.status, StatusCode::PAYLOAD_TOO_LARGE);
    for (file, body) in [("a.stl", "no scan"), ("a.txt", STL), ("", ""), ("a.3mf", "PK")] {
        let answer = bench.ask(Method::POST, &format!("/api/scans?file={file}"), body.into());
        let read_by_content = body == STL;
        assert_eq!(
            answer.status == StatusCode::OK,
            read_by_content,
            "{file}: {}",
            answer.message()
        );
    }
    assert!(bench.ask(Method::POST, "/api/scans", STL.into()).status.is_client_error());
}

#[test]
fn a_copy_has_its_own_name_and_no_history() {
    let bench = Bench::new();
    assert_eq!(bench.post("/api/jobs/demo", &Value::Null).status, StatusCode::CREATED);
    assert_eq!(bench.post("/api/jobs/demo", &Value::Null).status, StatusCode::OK, "made once");
    let copied = bench.post("/api/jobs/demo-job/copy", &json!({ "job": "Boot for winter" }));
    assert_eq!(copied.status, StatusCode::CREATED, "{}", copied.message());
    assert_eq!(copied.json()["job"], "Boot-for-winter");
    let read = |file: &str| fs::read(bench.workshop().join(file)).expect("there");
    assert_eq!(read("demo-job/last.stl"), read("Boot-for-winter/last.stl"));
    let (one, other) = (read("demo-job/job.toml"), read("Boot-for-winter/job.toml"));
    let renamed = String::from_utf8_lossy(&one).replace("Demo, invented", "Boot for winter");
    assert_eq!(renamed, String::from_utf8_lossy(&other));
    assert!(!Path::new(&bench.workshop()).join("Boot-for-winter/history.jsonl").exists());
    let shelf = bench.get("/api/jobs").json();
    let names: Vec<&str> =
        shelf["jobs"].as_array().into_iter().flatten().filter_map(|j| j["name"].as_str()).collect();
    assert_eq!(names.len(), 2, "{shelf}");
    assert!(names.contains(&"Boot for winter") && names.contains(&"Demo, invented"), "{shelf}");
}

#[test]
fn a_job_that_cannot_be_opened_is_on_the_shelf_with_the_reason() {
    let bench = Bench::new();
    let folder = bench.workshop().join("broken");
    fs::create_dir(&folder).expect("made");
    fs::write(folder.join("job.toml"), "schema = 1\nname = ").expect("written");
    let shelf = bench.get("/api/jobs").json();
    let trouble = &shelf["jobs"][0]["trouble"]["message"];
    assert!(trouble.as_str().is_some_and(|m| m.contains("job.toml")), "{shelf}");
    let answer = bench.get("/api/jobs/broken/papers");
    assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY);
}
