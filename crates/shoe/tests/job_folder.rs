//! A job on disk: made as a whole or not at all, and never overwritten unseen.

use std::fs;
use std::path::{Path, PathBuf};

use shoe::foot::Foot;
use shoe::job::{Command, CreateError, JobFolder, NewJob, OpenError, SaveError};

fn mesh() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/fixtures/job_v1/block.obj")
}

fn new_job() -> NewJob {
    NewJob {
        name: "Invented \"boot\" \\ 1".into(),
        note: "invented".into(),
        size: "EU 39".parse().expect("a size"),
        unit: None,
        foot: Some(Foot::Left),
        heel_height: None,
        pose: None,
    }
}

fn scratch() -> tempfile::TempDir {
    tempfile::tempdir().expect("a folder for the test")
}

fn names(folder: &Path) -> Vec<String> {
    let entries = fs::read_dir(folder).expect("readable");
    let mut names: Vec<_> =
        entries.map(|e| e.expect("readable").file_name().to_string_lossy().into_owned()).collect();
    names.sort();
    names
}

fn taller(mm: &str) -> Command {
    Command::parse("last.heel_height", mm).expect("a length")
}

#[test]
fn a_new_job_holds_the_settings_and_the_mesh_and_nothing_else() {
    let scratch = scratch();
    let folder = scratch.path().join("boot");
    let made = JobFolder::create(&folder, &mesh(), &new_job()).expect("made");
    assert_eq!(names(&folder), ["job.toml", "last.obj"]);
    assert_eq!(names(scratch.path()), ["boot"]);
    assert_eq!(fs::read(folder.join("last.obj")).ok(), fs::read(mesh()).ok());
    let opened = JobFolder::open(&folder).expect("opens").value;
    assert_eq!(opened.job(), made.job());
    assert_eq!(opened.job().name, new_job().name);
    assert_eq!(opened.job().last.foot, Some(Foot::Left));
    assert_eq!(opened.job().last.unit, None);
}

#[test]
fn every_remark_of_a_new_job_can_be_used() {
    let scratch = scratch();
    let made = JobFolder::create(&scratch.path().join("a"), &mesh(), &new_job()).expect("made");
    let used: String = made
        .text()
        .lines()
        .map(|line| match line.strip_prefix("# ") {
            Some(rest) if rest.contains(" = ") => format!("{rest}\n"),
            _ => format!("{line}\n"),
        })
        .collect();
    let remarks = |text: &str| text.lines().filter(|l| l.starts_with("# ")).count();
    assert!(remarks(made.text()) >= remarks(&used) + 7, "{used}");
    let job =
        shoe::job::Job::from_toml(&used, "job.toml").unwrap_or_else(|e| panic!("{e}\n{used}"));
    // Nobody measured the wearer or the scan, so no remark may say so.
    assert_eq!((&job.wearer, &job.last), (&made.job().wearer, &made.job().last));
    // EU 39: 260 mm, a fifth of it and 3 mm for settling (common practice, no source).
    let mut brief = job.brief();
    assert_eq!((brief.back_height.take(), brief.margin.take()), (Some(55.0), Some(13.5)));
    assert_eq!(brief, made.job().brief());
}

/// A disk without room for the second of two files: a folder stands where it would be written.
#[test]
fn a_save_that_fails_leaves_no_file_beside() {
    let scratch = scratch();
    let folder = scratch.path().join("a");
    let mut made = JobFolder::create(&folder, &mesh(), &new_job()).expect("made");
    made.apply(&taller("30")).expect("allowed");
    made.save().expect("saved");
    let before = names(&folder);
    let history = fs::read(folder.join("history.jsonl")).expect("readable");
    fs::create_dir(folder.join(".job.toml.new")).expect("made");
    made.apply(&taller("40")).expect("allowed");
    assert!(matches!(made.save(), Err(SaveError::Write { .. })));
    fs::remove_dir(folder.join(".job.toml.new")).expect("still there: not the program's");
    assert_eq!(names(&folder), before);
    assert_eq!(fs::read(folder.join("history.jsonl")).ok(), Some(history));
}

#[test]
fn an_empty_folder_may_be_used_and_a_full_one_not() {
    let scratch = scratch();
    let folder = scratch.path().join("a");
    fs::create_dir(&folder).expect("made");
    JobFolder::create(&folder, &mesh(), &new_job()).expect("an empty folder is free");
    let error = JobFolder::create(&folder, &mesh(), &new_job()).expect_err("now it is not");
    assert!(matches!(error, CreateError::Exists { .. }));
    assert!(matches!(
        JobFolder::create(&folder.join("job.toml"), &mesh(), &new_job()),
        Err(CreateError::Exists { .. })
    ));
}

#[test]
fn a_failed_start_leaves_nothing_behind() {
    let scratch = scratch();
    let absent = scratch.path().join("absent.stl");
    let error = JobFolder::create(&scratch.path().join("a"), &absent, &new_job());
    assert!(matches!(error, Err(CreateError::Mesh { .. })));
    // A folder below a file cannot be made, not even by an administrator.
    let file = scratch.path().join("file");
    fs::write(&file, "x").expect("written");
    let error = JobFolder::create(&file.join("a"), &mesh(), &new_job());
    assert!(matches!(error, Err(CreateError::Write { .. })));
    let error = JobFolder::create(&scratch.path().join("no/such/a"), &mesh(), &new_job());
    assert!(matches!(error, Err(CreateError::Write { .. })));
    let error = JobFolder::create(Path::new("/"), &mesh(), &new_job());
    assert!(error.is_err());
    assert_eq!(names(scratch.path()), ["file"]);
}

#[test]
fn what_is_missing_is_named() {
    let scratch = scratch();
    let folder = scratch.path().join("a");
    assert!(matches!(JobFolder::open(&folder), Err(OpenError::NoFolder { .. })));
    JobFolder::create(&folder, &mesh(), &new_job()).expect("made");
    fs::remove_file(folder.join("last.obj")).expect("removed");
    match JobFolder::open(&folder) {
        Err(OpenError::MeshMissing { mesh, .. }) => assert_eq!(mesh, "last.obj"),
        other => panic!("{other:?}"),
    }
    fs::write(folder.join("job.toml"), b"\xff\xfe").expect("written");
    assert!(matches!(JobFolder::open(&folder), Err(OpenError::Read { .. })));
    fs::write(folder.join("job.toml"), "not = [toml").expect("written");
    let error = JobFolder::open(&folder).expect_err("not TOML").to_string();
    assert!(error.contains("job.toml, line 1"), "{error}");
    fs::remove_file(folder.join("job.toml")).expect("removed");
    assert!(matches!(JobFolder::open(&folder), Err(OpenError::NoSettings { .. })));
    assert!(matches!(JobFolder::open(&mesh()), Err(OpenError::NoFolder { .. })));
}

#[test]
fn the_second_of_two_writers_is_told() {
    let scratch = scratch();
    let folder = scratch.path().join("a");
    let mut one = JobFolder::create(&folder, &mesh(), &new_job()).expect("made");
    let mut two = JobFolder::open(&folder).expect("opens").value;
    one.apply(&taller("25")).expect("allowed");
    one.save().expect("saved");
    two.apply(&taller("30")).expect("allowed");
    let error = two.save().expect_err("the file is another one by now");
    assert!(matches!(error, SaveError::Changed { .. }));
    assert!(error.to_string().contains("open the job again"), "{error}");
    let now = JobFolder::open(&folder).expect("opens").value;
    assert_eq!(now.text(), one.text());
    one.apply(&taller("26")).expect("allowed");
    one.save().expect("the first goes on");
}

#[test]
fn a_save_that_fails_leaves_the_job_as_it_was() {
    for blocked in [".job.toml.new", ".history.jsonl.new", ".lock"] {
        let scratch = scratch();
        let folder = scratch.path().join("a");
        let mut job = JobFolder::create(&folder, &mesh(), &new_job()).expect("made");
        let before = fs::read(folder.join("job.toml")).expect("readable");
        // A folder where the file beside would go: not writable, whoever runs this.
        fs::create_dir(folder.join(blocked)).expect("made");
        job.apply(&taller("25")).expect("allowed");
        assert!(matches!(job.save(), Err(SaveError::Write { .. })), "{blocked}");
        assert_eq!(fs::read(folder.join("job.toml")).expect("readable"), before);
        assert!(!job.text().as_bytes().eq(&before), "the edit is still in memory");
        fs::remove_dir(folder.join(blocked)).expect("removed");
        job.save().expect("and can be saved once the way is free");
        let mut again = JobFolder::open(&folder).expect("opens").value;
        assert_eq!(again.text(), job.text());
        again.undo().expect("undone");
        assert_eq!(again.text().as_bytes(), before);
    }
}

#[test]
fn a_folder_that_went_away_is_an_error() {
    let scratch = scratch();
    let folder = scratch.path().join("a");
    let mut job = JobFolder::create(&folder, &mesh(), &new_job()).expect("made");
    job.apply(&taller("25")).expect("allowed");
    fs::remove_dir_all(&folder).expect("removed");
    assert!(matches!(job.save(), Err(SaveError::Write { .. })));
}
