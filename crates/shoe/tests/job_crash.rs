//! A writer that is killed at any moment leaves a job that opens, in a state it really had.

use std::collections::BTreeMap;
use std::io::{Read, Write};
use std::path::Path;
use std::process::{Command as Process, Stdio};
use std::time::Duration;

use shoe::job::{Command, JobFolder, NewJob};

/// Set for the writer that is going to be killed; holds the folder of the job.
const VICTIM: &str = "JOB_CRASH_FOLDER";

/// How often the writer is killed.
const KILLS: u32 = 200;

/// The heel heights that the writer goes through, in turn.
const HEIGHTS: [f64; 3] = [20.0, 31.25, 42.5];

fn edit(round: usize) -> Command {
    Command::HeelHeight(Some(geometry::units::Mm::new(HEIGHTS[round % HEIGHTS.len()])))
}

/// Saves without end, once the parent set the folder; says so after the first save.
fn save_for_ever(folder: &Path) -> ! {
    let mut job = JobFolder::open(folder).expect("opens").value;
    // Start where the writer before was stopped, so that each edit changes something.
    let now = job.job().last.heel_height.map(|h| h.get());
    let mut round = HEIGHTS.iter().position(|h| Some(*h) == now).map_or(0, |at| at + 1);
    loop {
        if round % 5 == 4 {
            job.undo().expect("undone");
        } else {
            job.apply(&edit(round)).expect("allowed");
        }
        job.save().expect("saved");
        writeln!(std::io::stdout(), "saved").expect("the parent listens");
        round += 1;
    }
}

#[test]
fn a_writer_killed_at_any_moment_leaves_a_whole_job() {
    if let Some(folder) = std::env::var_os(VICTIM) {
        save_for_ever(Path::new(&folder));
    }
    let scratch = tempfile::tempdir().expect("a folder for the test");
    let folder = scratch.path().join("job");
    let mesh = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/fixtures/job_v1/block.obj");
    let new = NewJob {
        name: "Invented".into(),
        note: "invented".into(),
        size: "EU 39".parse().expect("a size"),
        unit: None,
        foot: None,
        heel_height: Some(geometry::units::Mm::new(HEIGHTS[0])),
        pose: None,
    };
    let first = JobFolder::create(&folder, &mesh, &new).expect("made");
    // Every state the file may be in, made without a disk.
    let states: BTreeMap<String, f64> = HEIGHTS
        .iter()
        .map(|h| {
            let from = format!("heel_height = {:?}", HEIGHTS[0]);
            (first.text().replace(&from, &format!("heel_height = {h:?}")), *h)
        })
        .collect();
    assert_eq!(states.len(), HEIGHTS.len());

    let mut seen: BTreeMap<String, u32> = BTreeMap::new();
    let mut random = 0x9e37_79b9_7f4a_7c15_u64;
    for kill in 0..KILLS {
        let mut writer = Process::new(std::env::current_exe().expect("this test"))
            .args(["a_writer_killed_at_any_moment_leaves_a_whole_job", "--exact", "--nocapture"])
            .env(VICTIM, &folder)
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .expect("started");
        let mut output = writer.stdout.take().expect("piped");
        let mut heard = Vec::new();
        while !heard.windows(5).any(|w| w == b"saved") {
            let mut byte = [0];
            assert_eq!(output.read(&mut byte).expect("readable"), 1, "the writer gave up");
            heard.push(byte[0]);
        }
        random ^= random << 13;
        random ^= random >> 7;
        random ^= random << 17;
        std::thread::sleep(Duration::from_micros(random % 6_000));
        writer.kill().expect("killed");
        writer.wait().expect("gone");

        let opened = JobFolder::open(&folder).unwrap_or_else(|e| panic!("after kill {kill}: {e}"));
        assert_eq!(opened.warnings, [], "after kill {kill}");
        let mut job = opened.value;
        let height = states.get(job.text()).unwrap_or_else(|| panic!("{}", job.text()));
        assert_eq!(job.job().last.heel_height.map(|h| h.get()), Some(*height));
        *seen.entry(format!("{height}")).or_default() += 1;
        // The history belongs to this very text: what it undoes is a state the file had.
        job.undo().expect("undone");
        assert!(states.contains_key(job.text()), "{}", job.text());
    }
    assert!(seen.len() > 1, "the writer never got anywhere: {seen:?}");
}
