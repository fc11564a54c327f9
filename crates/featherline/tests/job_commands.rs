//! The commands that make and edit jobs: what they print, leave behind and end with.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};
use std::sync::OnceLock;

use geometry::mesh::write::write_stl_binary;
use serde_json::Value;
use shoe::foot::Foot;
use shoe::last::build::{LastMeasures, build_last};

/// An invented wedge of four triangles, 2 mm high: a sound surface, and no last.
const WEDGE: &str = "v 0 0 0\nv 250 0 0\nv 0 80 0\nv 0 0 2\nf 1 3 2\nf 1 2 4\nf 2 3 4\nf 3 1 4\n";

/// A built last of EU 36, right foot, in mm, as binary STL.
fn last() -> &'static [u8] {
    static LAST: OnceLock<Vec<u8>> = OnceLock::new();
    LAST.get_or_init(|| {
        let built = build_last(&LastMeasures::for_size(240.0, Foot::Right)).expect("buildable");
        let mut bytes = Vec::new();
        write_stl_binary(&built.mesh, &mut bytes).expect("in memory");
        bytes
    })
}

struct Bench {
    scratch: tempfile::TempDir,
}

impl Bench {
    fn new() -> Self {
        let scratch = tempfile::tempdir().expect("a folder for the test");
        fs::write(scratch.path().join("scan.stl"), last()).expect("written");
        fs::write(scratch.path().join("wedge.obj"), WEDGE).expect("written");
        Self { scratch }
    }

    fn path(&self, name: &str) -> PathBuf {
        self.scratch.path().join(name)
    }

    fn run(&self, arguments: &[&str]) -> Output {
        Command::new(env!("CARGO_BIN_EXE_featherline"))
            .args(arguments)
            .current_dir(self.scratch.path())
            .output()
            .expect("the program starts")
    }

    /// Runs, expects an exit code, and returns standard output.
    fn ends(&self, code: i32, arguments: &[&str]) -> String {
        let done = self.run(arguments);
        let (out, err) =
            (String::from_utf8_lossy(&done.stdout), String::from_utf8_lossy(&done.stderr));
        assert_eq!(done.status.code(), Some(code), "{arguments:?}\n{out}\n{err}");
        assert_eq!(code == 0, err.is_empty(), "remarks only when something is wrong: {err}");
        out.into_owned()
    }

    fn json(&self, code: i32, arguments: &[&str]) -> Value {
        let arguments = [arguments, &["--json"]].concat();
        serde_json::from_str(&self.ends(code, &arguments)).expect("nothing but JSON")
    }

    fn made(&self) -> PathBuf {
        self.ends(0, &["new", "boot", "--last", "scan.stl", "--size", "EU 36"]);
        self.path("boot")
    }
}

fn settings(job: &Path) -> String {
    fs::read_to_string(job.join("job.toml")).expect("readable")
}

#[test]
fn a_job_is_made_edited_undone_and_done_again() {
    let bench = Bench::new();
    let job = bench.made();
    let before = settings(&job);
    assert!(before.contains("name = \"boot\"") && before.contains("file = \"last.stl\""));
    bench.ends(0, &["set", "boot", "stiffener.thickness", "2,2"]);
    bench.ends(0, &["set", "boot", "marks.seat", "1", "-2", "3.5"]);
    let after = settings(&job);
    assert!(after.contains("seat = [1.0, -2.0, 3.5]"), "{after}");
    bench.ends(0, &["undo", "boot"]);
    bench.ends(0, &["undo", "boot"]);
    assert_eq!(settings(&job), before);
    assert!(bench.ends(0, &["undo", "boot"]).contains("nothing to undo"));
    bench.ends(0, &["redo", "boot"]);
    bench.ends(0, &["redo", "boot"]);
    assert_eq!(settings(&job), after);
    assert!(bench.ends(0, &["redo", "boot"]).contains("nothing to redo"));
}

#[test]
fn with_json_there_is_nothing_but_json() {
    let bench = Bench::new();
    let made = bench.json(
        0,
        &[
            "new",
            "boot",
            "--last",
            "scan.stl",
            "--size",
            "EU 36",
            "--foot",
            "right",
            "--unit",
            "mm",
            "--heel-height",
            "25",
        ],
    );
    assert_eq!(made["standard_last_length"], 240.0);
    // The header of a binary STL holds the count at byte 80.
    let triangles = u32::from_le_bytes(last()[80..84].try_into().expect("four bytes"));
    assert_eq!(made["triangles"], triangles);
    assert_eq!((&made["child"], &made["foot"]), (&Value::from(false), &Value::from("right")));
    let long = made["length"].as_f64().expect("a number");
    assert!((long - 240.0).abs() < 3.0, "built 240 mm long, found {long}");
    let set = bench.json(0, &["set", "boot", "last.foot", "left"]);
    assert_eq!(
        (&set["to"], &set["was"], &set["changed"]),
        (&"left".into(), &"right".into(), &true.into())
    );
    let undone = bench.json(0, &["undo", "boot"]);
    assert_eq!((&undone["undo"]["set"], &undone["now"]), (&"last.foot".into(), &"right".into()));
    let wrong = bench.json(1, &["set", "boot", "last.heel_height", "900"]);
    let message = wrong["error"]["message"].as_str().expect("a text");
    assert!(message.contains("a length from -10 to 150 mm"), "{message}");
    assert!(bench.json(2, &["new", "boot"])["error"]["message"].is_string());
}

#[test]
fn a_new_job_says_what_it_found_and_what_comes_next() {
    let bench = Bench::new();
    let said = bench.ends(0, &["new", "my boot", "--last", "scan.stl", "--size", "EU 36"]);
    assert!(said.contains("unit mm (sure: ") && said.contains("right foot (sure: "), "{said}");
    assert_eq!(said.lines().last(), Some("next: featherline draft \"my boot\""));
    let said =
        bench.ends(0, &["new", "b", "--last", "scan.stl", "--size", "EU 36", "--foot", "right"]);
    assert!(said.contains("right foot (as given)"), "{said}");
    let said = bench.ends(0, &["set", "b", "stiffener.thickness", "2,2"]);
    assert_eq!(said.lines().last(), Some("next: featherline draft b"));
}

#[test]
fn open_checks_are_listed_once_and_by_one_word() {
    let bench = Bench::new();
    bench.made();
    let report = bench.json(0, &["check", "boot"]);
    let said = bench.ends(0, &["check", "boot"]);
    let mut open = 0;
    for check in report["checks"].as_array().expect("a list") {
        let name = format!(" {}: ", check["name"].as_str().expect("a text"));
        assert_eq!(said.matches(&name).count(), 1, "{name} in\n{said}");
        open += usize::from(check["verdict"] == "unsure");
    }
    assert!(open > 0 && said.contains(&format!(" {open} open,")), "{said}");
    assert_eq!(said.matches("\n  open: ").count(), open);
    assert!(!said.to_lowercase().contains("unsure"));
}

#[test]
fn errors_end_with_1_and_leave_nothing() {
    let bench = Bench::new();
    let job = bench.made();
    let before = settings(&job);
    for arguments in [
        &["new", "boot", "--last", "scan.stl", "--size", "EU 36"][..],
        &["new", "shoe", "--last", "absent.obj", "--size", "EU 36"],
        &["new", "shoe", "--last", "empty.obj", "--size", "EU 36"],
        &["new", "shoe", "--last", "wedge.obj", "--size", "EU 36"],
        &["new", "wedge.obj/shoe", "--last", "scan.stl", "--size", "EU 36"],
        &["new", "shoe", "--last", "scan.stl", "--size", "EU 36", "--heel-height", "900"],
        &["set", "shoe", "name", "x"],
        &["set", "boot", "last.foto", "left"],
        &["set", "boot", "stiffener.thickness", "40"],
        &["undo", "shoe"],
        &["redo", "wedge.obj"],
    ] {
        fs::write(bench.path("empty.obj"), "").expect("written");
        bench.ends(1, arguments);
        assert!(!bench.path("shoe").exists(), "{arguments:?}");
    }
    assert_eq!(settings(&job), before);
    let mut left: Vec<_> = fs::read_dir(bench.scratch.path())
        .expect("readable")
        .map(|e| e.expect("readable").file_name())
        .collect();
    left.sort();
    assert_eq!(left, ["boot", "empty.obj", "scan.stl", "wedge.obj"]);
}

#[test]
fn wrong_usage_ends_with_2() {
    let bench = Bench::new();
    for arguments in [
        &["knit"][..],
        &["--port", "high"],
        &["new", "boot", "--last", "wedge.obj"],
        &["new", "boot", "--last", "scan.stl", "--size", "39"],
        &["new", "boot", "--last", "scan.stl", "--size", "EU 39", "--foot", "both"],
        &["new", "boot", "--last", "scan.stl", "--size", "EU 39", "--heel-height", "high"],
        &["set", "boot", "name"],
    ] {
        bench.ends(2, arguments);
    }
    let said = bench.run(&["new", "boot", "--last", "scan.stl", "--size", "39"]).stderr;
    assert!(String::from_utf8_lossy(&said).contains("EU 39 (260.0 mm)"), "says what it can mean");
}

#[test]
fn help_and_version_end_with_0() {
    let bench = Bench::new();
    assert!(bench.ends(0, &["--help"]).contains("undo"));
    assert!(bench.ends(0, &["--version"]).contains(env!("CARGO_PKG_VERSION")));
}
