//! The commands that make and edit jobs: what they print, leave behind and end with.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

use serde_json::Value;

/// An invented wedge of four triangles.
const WEDGE: &str = "v 0 0 0\nv 250 0 0\nv 0 80 0\nv 0 0 60\nf 1 3 2\nf 1 2 4\nf 2 3 4\nf 3 1 4\n";

struct Bench {
    scratch: tempfile::TempDir,
}

impl Bench {
    fn new() -> Self {
        let scratch = tempfile::tempdir().expect("a folder for the test");
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
        self.ends(0, &["new", "boot", "--last", "wedge.obj", "--size", "EU 36"]);
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
    assert!(before.contains("name = \"boot\"") && before.contains("file = \"last.obj\""));
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
            "wedge.obj",
            "--size",
            "EU 36",
            "--foot",
            "left",
            "--unit",
            "mm",
            "--heel-height",
            "25",
        ],
    );
    assert_eq!(made["standard_last_length"], 240.0);
    assert_eq!((&made["triangles"], &made["child"]), (&Value::from(4), &Value::from(false)));
    let set = bench.json(0, &["set", "boot", "last.foot", "right"]);
    assert_eq!(
        (&set["to"], &set["was"], &set["changed"]),
        (&"right".into(), &"left".into(), &true.into())
    );
    let undone = bench.json(0, &["undo", "boot"]);
    assert_eq!((&undone["undo"]["set"], &undone["now"]), (&"last.foot".into(), &"left".into()));
    let wrong = bench.json(1, &["set", "boot", "last.heel_height", "900"]);
    let message = wrong["error"]["message"].as_str().expect("a text");
    assert!(message.contains("a length from -10 to 150 mm"), "{message}");
    assert!(bench.json(2, &["new", "boot"])["error"]["message"].is_string());
}

#[test]
fn errors_end_with_1_and_leave_nothing() {
    let bench = Bench::new();
    let job = bench.made();
    let before = settings(&job);
    for arguments in [
        &["new", "boot", "--last", "wedge.obj", "--size", "EU 36"][..],
        &["new", "shoe", "--last", "absent.obj", "--size", "EU 36"],
        &["new", "shoe", "--last", "empty.obj", "--size", "EU 36"],
        &["new", "wedge.obj/shoe", "--last", "wedge.obj", "--size", "EU 36"],
        &["new", "shoe", "--last", "wedge.obj", "--size", "EU 36", "--heel-height", "900"],
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
    assert_eq!(left, ["boot", "empty.obj", "wedge.obj"]);
}

#[test]
fn wrong_usage_ends_with_2() {
    let bench = Bench::new();
    for arguments in [
        &[][..],
        &["knit"],
        &["new", "boot", "--last", "wedge.obj"],
        &["new", "boot", "--last", "wedge.obj", "--size", "39"],
        &["new", "boot", "--last", "wedge.obj", "--size", "EU 39", "--foot", "both"],
        &["new", "boot", "--last", "wedge.obj", "--size", "EU 39", "--heel-height", "high"],
        &["set", "boot", "name"],
    ] {
        bench.ends(2, arguments);
    }
    let said = bench.run(&["new", "boot", "--last", "wedge.obj", "--size", "39"]).stderr;
    assert!(String::from_utf8_lossy(&said).contains("UK child 10"), "says what is understood");
}

#[test]
fn help_and_version_end_with_0() {
    let bench = Bench::new();
    assert!(bench.ends(0, &["--help"]).contains("undo"));
    assert!(bench.ends(0, &["--version"]).contains(env!("CARGO_PKG_VERSION")));
}
