//! Every edit can be stored, done, undone and done again; the rest of the file stays as it was.

use std::fs;
use std::path::{Path, PathBuf};

use proptest::prelude::*;
use shoe::job::{Command, CommandError, EditError, JobFolder, StepError};

/// A key, a text for it that is typed by hand, and how the value then stands in the file.
const EDITS: &[(&str, &str, &str)] = &[
    ("name", "Default", "\"Default\""),
    ("note", "from \"the\" bench", "'from \"the\" bench'"),
    ("last.size", "eu 40,5", "\"EU 40.5\""),
    ("last.fitting", "6", "\"6\""),
    ("last.foot", "Left", "\"left\""),
    ("last.heel_height", "35,5 mm", "35.5"),
    ("marks.seat", "1.5, 2, -3", "[1.5, 2.0, -3.0]"),
    ("marks.joint_medial", "1 2 3", "[1.0, 2.0, 3.0]"),
    ("marks.joint_lateral", "[1, 2, 3]", "[1.0, 2.0, 3.0]"),
    ("marks.centre_back_top", "1 2 3", "[1.0, 2.0, 3.0]"),
    ("marks.ankle_medial", "1 2 3", "[1.0, 2.0, 3.0]"),
    ("marks.ankle_lateral", "1 2 3", "[1.0, 2.0, 3.0]"),
    ("marks.breast", "1,5 2,5 3,5", "[1.5, 2.5, 3.5]"),
    ("marks.waist", "1 2 3", "[1.0, 2.0, 3.0]"),
    ("marks.instep", "1 2 3", "[1.0, 2.0, 3.0]"),
    ("marks.vamp", "1 2 3", "[1.0, 2.0, 3.0]"),
    ("marks.toe", "1 2 3", "[1.0, 2.0, 3.0]"),
    ("marks.top_front", "1 2 3", "[1.0, 2.0, 3.0]"),
    ("marks.top_back", "1 2 3", "[1.0, 2.0, 3.0]"),
    ("stiffener.construction", "stitched outward", "\"stitched_outward\""),
    ("stiffener.kind", "thermoplastic", "\"thermoplastic\""),
    ("stiffener.insole_on_last", "no", "false"),
    ("stiffener.insole_thickness", "2.5", "2.5"),
    ("stiffener.lining_thickness", "0.8", "0.8"),
    ("stiffener.thickness", "1.2mm", "1.2"),
    ("stiffener.settling", "2", "2.0"),
    ("stiffener.back_height", "52", "52.0"),
    ("stiffener.below_topline", "4", "4.0"),
    ("stiffener.margin", "13", "13.0"),
    ("stiffener.wall_cuts", "3", "3"),
    ("stiffener.wall_cut_depth", "18,5 mm", "18.5"),
    ("stiffener.face", "adhesive side", "\"adhesive_side\""),
    ("stiffener.medial.length", "mid-waist", "\"mid_waist\""),
    ("stiffener.medial.behind_joint", "16", "16.0"),
    ("stiffener.medial.end_height", "17", "17.0"),
    ("stiffener.medial.ceiling", "48", "48.0"),
    ("stiffener.lateral.length", "long", "\"long\""),
    ("stiffener.lateral.behind_joint", "16", "16.0"),
    ("stiffener.lateral.end_height", "17", "17.0"),
    ("stiffener.lateral.ceiling", "40", "40.0"),
    ("wearer.ankle_medial", "64", "64.0"),
    ("wearer.ankle_lateral", "55", "55.0"),
    ("wearer.ankle_drop", "12", "12.0"),
    ("wearer.feather_height", "3,5", "3.5"),
    ("topline.back", "60", "60.0"),
    ("range.heel_height", "graded", "\"graded\""),
    ("range.toe_spring", "kept", "\"kept\""),
    ("range.top", "Graded", "\"graded\""),
];

fn fixture() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/fixtures/job_v1")
}

/// A copy of the fixture that a test may write to.
fn copied() -> (tempfile::TempDir, PathBuf) {
    let scratch = tempfile::tempdir().expect("a folder for the test");
    let folder = scratch.path().join("job");
    fs::create_dir(&folder).expect("made");
    for name in ["job.toml", "block.obj"] {
        fs::copy(fixture().join(name), folder.join(name)).expect("copied");
    }
    (scratch, folder)
}

fn open(folder: &Path) -> JobFolder {
    JobFolder::open(folder).expect("opens").value
}

fn text(folder: &Path) -> String {
    fs::read_to_string(folder.join("job.toml")).expect("readable")
}

fn parse(key: &str, value: &str) -> Command {
    Command::parse(key, value).unwrap_or_else(|e| panic!("{e}"))
}

fn set(folder: &Path, key: &str, value: &str) {
    let mut job = open(folder);
    job.apply(&parse(key, value)).expect("allowed");
    job.save().expect("saved");
}

#[test]
fn every_key_can_be_set_undone_and_done_again_across_saves() {
    let (_scratch, folder) = copied();
    let mut states = vec![text(&folder)];
    for (key, typed, written) in EDITS {
        set(&folder, key, typed);
        let now = text(&folder);
        let name = key.rsplit('.').next().unwrap_or(key);
        assert!(now.contains(&format!("{name} = {written}")), "{key}:\n{now}");
        assert_ne!(Some(&now), states.last(), "{key}");
        states.push(now);
    }
    for before in states.iter().rev().skip(1) {
        let mut job = open(&folder);
        assert!(job.undo().expect("undone").is_some());
        job.save().expect("saved");
        assert_eq!(&text(&folder), before);
    }
    assert_eq!(open(&folder).undo().expect("nothing left"), None);
    for after in states.iter().skip(1) {
        let mut job = open(&folder);
        assert!(job.redo().expect("done again").is_some());
        job.save().expect("saved");
        assert_eq!(&text(&folder), after);
    }
    assert_eq!(open(&folder).redo().expect("nothing left"), None);
}

#[test]
fn lists_and_poses_can_be_set_and_undone() {
    let (_scratch, folder) = copied();
    let before = text(&folder);
    for (key, typed) in [
        ("marks.feather_line", "[[0,0,0],[1,0,0],[1,1,0]]"),
        ("topline.heights", r#"[{"along": 10, "medial": 50, "lateral": 40.5}]"#),
        ("last.pose", "[[0,-1,0,0],[1,0,0,0],[0,0,1,0],[0,0,0,1]]"),
    ] {
        let mut job = open(&folder);
        let command = parse(key, typed);
        assert!(job.apply(&command).expect("allowed"));
        let stored = serde_json::to_string(&command).expect("serialisable");
        assert_eq!(serde_json::from_str::<Command>(&stored).expect("readable"), command);
        job.undo().expect("undone");
        assert_eq!(job.text(), before, "{key}");
    }
}

#[test]
fn every_key_can_be_taken_away_and_comes_back_byte_for_byte() {
    let before = text(&fixture());
    let remarks = |text: &str| text.matches('#').count();
    let keys =
        EDITS.iter().map(|e| e.0).chain(["marks.feather_line", "last.pose", "topline.heights"]);
    for key in keys.filter(|k| !["name", "last.size"].contains(k)) {
        let mut job = open(&fixture());
        if !job.apply(&parse(key, "default")).expect("allowed") {
            continue;
        }
        assert_ne!(job.text(), before);
        assert_eq!(remarks(job.text()), remarks(&before), "a remark was lost with {key}");
        job.undo().expect("undone");
        assert_eq!(job.text(), before, "{key}");
    }
    assert!(Command::parse("last.size", "default").is_err());
    assert!(matches!(Command::parse("schema", "2"), Err(CommandError::Fixed { .. })));
}

#[test]
fn an_edit_changes_one_line_of_a_hand_edited_file() {
    for (key, typed, lines) in [
        ("last.heel_height", "25", 1),
        ("stiffener.thickness", "3", 1),
        ("stiffener.medial.behind_joint", "18", 1),
        ("stiffener.lateral.ceiling", "40", 1),
    ] {
        let before = text(&fixture());
        let mut job = open(&fixture());
        job.apply(&parse(key, typed)).expect("allowed");
        let changed: Vec<_> =
            before.lines().zip(job.text().lines()).filter(|(a, b)| a != b).collect();
        assert_eq!(changed.len(), lines, "{changed:?}");
        assert_eq!(before.lines().count(), job.text().lines().count());
        let (old, new) = changed[0];
        assert_eq!(old.split_once('#').map(|s| s.1), new.split_once('#').map(|s| s.1));
    }
}

#[test]
fn a_table_that_is_added_goes_behind_the_remarks_of_the_one_before() {
    let before = "schema = 1\nname = \"a\"\n[last]\nfile = \"block.obj\"\nsize = \"EU 39\"\n\n[stiffener]\nkind = \"leather\"\n\n[wearer]\n# ankle_medial = 62.0\n# the end";
    for (key, typed, behind) in [
        ("topline.back", "60", "\n\n[topline]\nback = 60.0\n"),
        ("stiffener.medial.ceiling", "45", "\n\n[stiffener.medial]\nceiling = 45.0\n"),
        ("marks.seat", "1 2 3", "\n\n[marks]\nseat = [1.0, 2.0, 3.0]\n"),
    ] {
        let (_scratch, folder) = copied();
        fs::write(folder.join("job.toml"), before).expect("written");
        let mut job = open(&folder);
        job.apply(&parse(key, typed)).expect("allowed");
        assert_eq!(job.text(), format!("{before}{behind}"));
        job.undo().expect("undone");
        assert_eq!(job.text(), before);
    }
}

#[test]
fn a_refused_edit_changes_nothing() {
    let mut job = open(&fixture());
    let before = job.text().to_owned();
    for (key, typed) in [
        ("last.heel_height", "2000"),
        ("stiffener.thickness", "-1"),
        ("last.unit", "cm"), // contradicts the scale of the pose
        ("last.pose", "[[1,0,0,0],[0,1,0,0],[0,0,-1,0],[0,0,0,1]]"),
        ("marks.feather_line", "[[0,0,0],[1,0,0]]"),
    ] {
        let error = job.apply(&parse(key, typed)).expect_err(key);
        assert!(matches!(error, EditError::Settings(_)), "{error}");
    }
    assert!(matches!(
        job.apply(&parse("last.file", "absent.stl")),
        Err(EditError::MeshMissing { .. })
    ));
    assert_eq!(job.text(), before);
    assert_eq!(job.undo().expect("nothing to undo"), None);
}

#[test]
fn a_typed_value_that_does_not_fit_says_what_does() {
    for (key, typed, said) in [
        ("last.foot", "both", "\"left\", \"right\""),
        ("stiffener.thickness", "thick", "a length from 0.3 to 6 mm"),
        ("stiffener.insole_on_last", "maybe", "true or false"),
        ("marks.seat", "1 2", "[x, y, z]"),
        ("last.size", "39", "EU 39 (260.0 mm)"),
        ("last.foto", "left", "did you mean \"last.foot\"?"),
        ("thickness", "2", "did you mean \"stiffener.thickness\"?"),
    ] {
        let message = Command::parse(key, typed).expect_err(key).to_string();
        assert!(message.contains(said), "{message}");
    }
}

#[test]
fn a_unit_that_fits_the_pose_or_stands_alone_can_be_set() {
    let mut job = open(&fixture());
    for (key, typed) in [
        ("last.unit", "default"),
        ("last.unit", "mm"),
        ("last.pose", "default"),
        ("last.unit", "CM"),
    ] {
        assert!(job.apply(&parse(key, typed)).expect("allowed"), "{key}");
    }
    assert_eq!(job.job().last.unit, Some(geometry::units::Unit::Cm));
}

#[test]
fn setting_what_is_already_set_leaves_no_trace() {
    let mut job = open(&fixture());
    // Written as 20 in the file, typed as 20.0.
    assert!(!job.apply(&parse("last.heel_height", "20.0")).expect("allowed"));
    assert!(!job.apply(&parse("marks.breast", "default")).expect("allowed"));
    assert_eq!(job.undo().expect("nothing to undo"), None);
}

#[test]
fn a_new_edit_forgets_what_was_undone() {
    let mut job = open(&fixture());
    job.apply(&parse("last.heel_height", "25")).expect("allowed");
    job.undo().expect("undone");
    job.apply(&parse("last.heel_height", "30")).expect("allowed");
    assert_eq!(job.redo().expect("nothing to redo"), None);
}

#[test]
fn undo_after_an_edit_by_hand_keeps_that_edit() {
    let (_scratch, folder) = copied();
    set(&folder, "last.heel_height", "25");
    let by_hand = text(&folder).replace("thickness = 2.8", "thickness = 3.1");
    fs::write(folder.join("job.toml"), &by_hand).expect("written");
    let mut job = open(&folder);
    job.undo().expect("undone");
    assert!(job.text().contains("heel_height = 20.0        # whole"), "{}", job.text());
    assert!(job.text().contains("thickness = 3.1"));
    job.redo().expect("done again");
    assert_eq!(job.text(), by_hand);
}

#[test]
fn undo_never_overwrites_the_same_key_changed_by_hand() {
    let (_scratch, folder) = copied();
    set(&folder, "last.heel_height", "25");
    let by_hand = text(&folder).replace("heel_height = 25.0", "heel_height = 27");
    fs::write(folder.join("job.toml"), &by_hand).expect("written");
    let mut job = open(&folder);
    assert!(matches!(job.undo(), Err(StepError::ChangedSince { .. })));
    assert_eq!(job.text(), by_hand);
}

#[test]
fn a_broken_or_missing_history_never_costs_the_job() {
    let (_scratch, folder) = copied();
    set(&folder, "last.heel_height", "25");
    let whole = fs::read(folder.join("history.jsonl")).expect("written");
    let after = text(&folder);
    for broken in
        [&whole[..whole.len() / 2], b"", b"\xff\xfe", b"{}", b"{\"schema\":9,\"done\":0}\n"]
    {
        fs::write(folder.join("history.jsonl"), broken).expect("written");
        let opened = JobFolder::open(&folder).expect("opens all the same");
        assert_eq!(opened.warnings.len(), 1, "{broken:?}");
        let mut job = opened.value;
        assert_eq!(job.text(), after);
        assert_eq!(job.undo().expect("nothing to undo"), None);
        job.apply(&parse("last.heel_height", "26")).expect("allowed");
        job.save().expect("saved");
        let mut job = open(&folder);
        job.undo().expect("undone");
        job.save().expect("saved");
        assert_eq!(text(&folder), after);
    }
    fs::remove_file(folder.join("history.jsonl")).expect("removed");
    assert_eq!(JobFolder::open(&folder).expect("opens").warnings, []);
}

#[test]
fn a_history_written_just_before_a_crash_is_stepped_back() {
    let (_scratch, folder) = copied();
    let before = text(&folder);
    set(&folder, "last.heel_height", "25");
    let after = text(&folder);
    // The crash came after the history was written and before the job was.
    fs::write(folder.join("job.toml"), &before).expect("written");
    let mut job = open(&folder);
    assert_eq!(job.undo().expect("that edit did not happen"), None);
    job.redo().expect("but can be done");
    assert_eq!(job.text(), after);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]
    /// Any run of edits, undone to the start and done again to the end.
    #[test]
    fn any_run_of_edits_can_be_walked_back_and_forth(
        run in prop::collection::vec((0..EDITS.len(), any::<bool>()), 1..12)
    ) {
        let mut job = open(&fixture());
        let mut states = vec![job.text().to_owned()];
        for (which, away) in run {
            let (key, typed, _) = EDITS[which];
            let away = away && !["name", "last.size"].contains(&key);
            if job.apply(&parse(key, if away { "default" } else { typed })).expect("allowed") {
                states.push(job.text().to_owned());
            }
        }
        for before in states.iter().rev().skip(1) {
            job.undo().expect("undone");
            prop_assert_eq!(job.text(), before);
        }
        for after in states.iter().skip(1) {
            job.redo().expect("done again");
            prop_assert_eq!(job.text(), after);
        }
    }

    /// Numbers come back from the file and from the history as exactly the same bits.
    #[test]
    fn no_digit_is_lost(x in -1e6..1e6f64, y in -1.0..1.0f64) {
        let mut job = open(&fixture());
        let command = Command::Seat(Some(glam::DVec3::new(x, y, 1.0 / 3.0)));
        job.apply(&command).expect("allowed");
        let seat = job.job().marks.seat.expect("set");
        prop_assert_eq!((seat.x.to_bits(), seat.y.to_bits()), (x.to_bits(), y.to_bits()));
        let stored = serde_json::to_string(&command).expect("serialisable");
        prop_assert_eq!(serde_json::from_str::<Command>(&stored).expect("readable"), command);
    }
}
