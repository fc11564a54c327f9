//! Sizes over HTTP: what is refused, what is told of each, what is written.

use std::fs;
use std::time::Duration;

use axum::http::StatusCode;
use serde_json::{Value, json};

use super::tests::Bench;

const SIZES: &str = "/api/jobs/demo-job/sizes";

fn with_demo() -> Bench {
    let bench = Bench::new();
    assert_eq!(bench.post("/api/jobs/demo", &Value::Null).status, StatusCode::CREATED);
    bench
}

fn run(from: &str, to: &str) -> Value {
    json!({ "from": from, "to": to, "halves": false, "fittings": [], "feet": ["right"] })
}

#[test]
fn a_run_that_is_none_is_refused() {
    let bench = with_demo();
    let with = |key: &str, value: Value| {
        let mut run = run("EU 38", "EU 40");
        run[key] = value;
        run
    };
    for wrong in [
        run("EU 40", "EU 38"),
        run("EU 38.5", "EU 40"),
        run("EU 38", "EU 99"),
        run("UK 5", "UK 6"),
        with("feet", json!([])),
        with("feet", json!(["third"])),
        with("fittings", json!(["7"])),
        with("fittings", json!(["ZZ"])),
        json!({}),
    ] {
        let answer = bench.post(SIZES, &wrong);
        assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY, "{wrong}");
    }
    for nothing in ["", "/piece/EU-39-right", "/report/EU-39-right", "/files/range.pdf"] {
        let answer = bench.get(&format!("{SIZES}{nothing}"));
        assert_eq!(answer.status, StatusCode::CONFLICT, "{nothing}");
    }
    assert_eq!(bench.post(&format!("{SIZES}/write"), &Value::Null).status, StatusCode::CONFLICT);
    assert!(!bench.workshop().join("demo-job/sizes").exists());
    assert_eq!(
        bench.post("/api/jobs/none/sizes", &run("EU 39", "EU 39")).status,
        StatusCode::NOT_FOUND
    );
}

#[test]
fn every_size_is_told_and_written() {
    let bench = with_demo();
    assert_eq!(bench.post(SIZES, &run("EU 39", "EU 41")).status, StatusCode::ACCEPTED);
    let mut all = bench.get(SIZES);
    for _ in 0..600 {
        if all.status == StatusCode::OK {
            break;
        }
        std::thread::sleep(Duration::from_millis(100));
        all = bench.get(SIZES);
    }
    let all = all.json();
    let table = &all["tables"][0];
    assert_eq!(table["sizes"], json!(["EU 39", "EU 40", "EU 41"]));
    // Three lasts, 20/3 mm apart.
    let length = table["rows"].as_array().into_iter().flatten();
    let length = length.into_iter().find(|row| row["name"] == "standard last length");
    let step = length.and_then(|row| row["values"][2]["step"].as_f64()).expect("a step");
    assert!((step - 20.0 / 3.0).abs() < 1e-9, "{step}");
    assert_eq!(all["nests"][0]["pieces"][0]["name"], "EU-41-right");
    let outline = all["nests"][0]["pieces"][0]["drawing"][0]["path"].as_str();
    assert!(outline.is_some_and(|path| path.starts_with('M')));

    let report = bench.get(&format!("{SIZES}/report/EU-40-right")).json();
    assert_eq!(report["report"]["size"], "EU 40");
    assert!(report["lines"].as_array().is_some_and(|lines| !lines.is_empty()));
    for what in ["piece", "last"] {
        let answer = bench.get(&format!("{SIZES}/{what}/EU-40-right"));
        assert_eq!(answer.status, StatusCode::OK);
        assert!(answer.body.len() > 10_000, "{what}");
        let answer = bench.get(&format!("{SIZES}/{what}/EU-44-right"));
        assert_eq!(answer.status, StatusCode::NOT_FOUND, "{what}");
    }

    let written = bench.post(&format!("{SIZES}/write"), &Value::Null);
    assert_eq!(written.status, StatusCode::OK, "{}", written.message());
    let files = written.json()["files"].as_array().cloned().unwrap_or_default();
    assert_eq!(files.len(), 3 * 7 + 6);
    for file in files {
        let name = file["file"].as_str().expect("a name");
        let on_disk = fs::read(bench.workshop().join("demo-job/sizes").join(name)).expect("there");
        assert_eq!(file["bytes"], on_disk.len());
        let over_http = bench.get(&format!("{SIZES}/files/{name}"));
        assert_eq!(over_http.body, on_disk, "{name}");
    }
    for name in ["EU-40-right.doc", "EU-40-left.pdf", "..%2Fjob.toml"] {
        let answer = bench.get(&format!("{SIZES}/files/{name}"));
        assert_eq!(answer.status, StatusCode::NOT_FOUND, "{name}");
    }
}
