//! What `job.toml` may hold, and what is said about what it may not.

use std::path::Path;

use geometry::units::{Mm, Unit};
use glam::DVec3;
use shoe::foot::Foot;
use shoe::job::{Job, JobFolder, SettingsError};
use shoe::stiffener::brief::{Construction, Kind, Length};

const LEAST: &str = "schema = 1\nname = \"a\"\n[last]\nfile = \"last.stl\"\nsize = \"EU 36\"\n";

fn read(text: &str) -> Result<Job, SettingsError> {
    Job::from_toml(text, "job.toml")
}

/// The message about the least settings with more behind them.
fn refusal(more: &str) -> String {
    match read(&format!("{LEAST}{more}")) {
        Ok(_) => panic!("accepted: {more}"),
        Err(error) => error.to_string(),
    }
}

#[test]
fn a_job_of_the_first_version_opens() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/fixtures/job_v1");
    let opened = JobFolder::open(&folder).expect("the fixture opens");
    assert_eq!(opened.warnings, []);
    let folder = opened.value;
    let job = folder.job();
    assert_eq!(job.name, "Invented court shoe");
    assert_eq!((job.last.unit, job.last.foot), (Some(Unit::Mm), Some(Foot::Right)));
    assert_eq!(job.last.heel_height, Some(Mm::new(20.0)));
    let last_from_file = job.last.last_from_file().expect("a pose is given");
    assert_eq!(
        last_from_file.transform_point3(DVec3::new(1.0, 2.0, 3.0)),
        DVec3::new(6.0, 2.0, 0.5)
    );
    assert_eq!(job.marks.seat, Some(DVec3::new(0.0, 30.0, 0.0)));
    assert_eq!(job.marks.feather_line.as_ref().map(Vec::len), Some(4));
    assert_eq!(job.marks.breast, None);
    let brief = job.brief();
    assert_eq!((brief.standard_last_length, brief.child), (260.0, false));
    assert_eq!(brief.construction, Construction::Welted);
    assert!(brief.insole_on_last);
    assert_eq!(brief.thickness, 2.8);
    assert_eq!(brief.medial.behind_joint, 12.5);
    assert_eq!(brief.lateral.length, Length::Short);
    assert_eq!(brief.lateral.ceiling, Some(41.5));
    assert_eq!((brief.medial.wearer_ankle, brief.lateral.wearer_ankle), (None, Some(58.0)));
    let topline: Vec<_> = brief.topline.iter().map(|t| (t.along, t.medial, t.lateral)).collect();
    assert_eq!(topline, [(0.0, 62.0, 62.0), (20.0, 58.0, 52.0), (80.0, 54.0, 48.0)]);
    assert!(folder.mesh_path().ends_with("block.obj"));
}

#[test]
fn a_pose_turns_the_way_its_rows_say() {
    // A quarter turn about z that takes x to y, from centimetres.
    let text = format!(
        "{LEAST}unit = \"cm\"\npose = [[0, -10, 0, 1], [10, 0, 0, 2], [0, 0, 10, 3], [0, 0, 0, 1]]\n"
    );
    let last_from_file =
        read(&text).expect("allowed").last.last_from_file().expect("a pose is given");
    assert_eq!(last_from_file.transform_point3(DVec3::X), DVec3::new(1.0, 12.0, 3.0));
}

#[test]
fn what_is_not_entered_follows_construction_and_kind() {
    // Common practice, no source: the defaults and their ranges.
    let brief = read(LEAST).expect("allowed").brief();
    assert_eq!((brief.lining, brief.settling, brief.below_topline), (1.0, 3.0, 5.0));
    assert_eq!((brief.medial.behind_joint, brief.medial.end_height), (15.0, 18.0));
    assert_eq!((brief.back_height, brief.margin), (None, None));
    assert_eq!((brief.wall_cuts, brief.wall_cut_depth), (0, 20.0));
    assert_eq!((brief.size.as_str(), brief.standard_last_length), ("EU 36", 240.0));
    for (construction, least, most) in
        [("cemented", 2.0, 2.0), ("welted", 3.5, 4.5), ("strobel", 1.0, 2.0)]
    {
        let text = format!("{LEAST}[stiffener]\nconstruction = \"{construction}\"\n");
        let insole = read(&text).expect("allowed").brief().insole;
        assert!((least..=most).contains(&insole), "{construction}: {insole}");
    }
    for (kind, face) in [("leather", "grain"), ("thermoplastic", "adhesive side")] {
        let text = format!("{LEAST}[stiffener]\nkind = \"{kind}\"\n");
        assert_eq!(read(&text).expect("allowed").brief().face, face);
    }
    let own = format!("{LEAST}[stiffener]\nkind = \"fibreboard\"\nthickness = 1.25\n");
    let brief = read(&own).expect("allowed").brief();
    assert_eq!((brief.kind, brief.thickness), (Kind::Fibreboard, 1.25));
    let child = LEAST.replace("EU 36", "UK child 10");
    assert!(read(&child).expect("allowed").brief().child);
}

#[test]
fn a_newer_job_is_refused() {
    let error = read("schema = 2\nsomething = 1\n").expect_err("newer");
    assert!(matches!(error, SettingsError::Newer { found: 2, known: 1, .. }));
    assert!(error.to_string().contains("written by a newer version"));
    assert!(error.to_string().contains("update Featherline"));
    assert!(read("schema = 0\n").is_err());
    assert!(read("schema = \"1\"\n").is_err());
    assert!(read("name = \"a\"\n").expect_err("no schema").to_string().contains("\"schema\""));
}

#[test]
fn an_unknown_key_names_itself_its_line_and_a_near_one() {
    for (more, key, line, near) in [
        ("foto = \"left\"", "last.foto", 6, Some("last.foot")),
        ("[stiffener]\nthicknes = 2", "stiffener.thicknes", 7, Some("stiffener.thickness")),
        ("settling = 2", "last.settling", 6, Some("stiffener.settling")),
        ("[stifener]\nkind = 1", "stifener", 6, None),
        (
            "[stiffener.medial]\nlenght = 1",
            "stiffener.medial.lenght",
            7,
            Some("stiffener.medial.length"),
        ),
        ("colour_of_the_moon = 1", "last.colour_of_the_moon", 6, None),
    ] {
        match read(&format!("{LEAST}{more}\n")) {
            Err(SettingsError::UnknownKey { key: k, line: l, near: n, .. }) => {
                assert_eq!((k.as_str(), l), (key, line));
                if near.is_some() {
                    assert_eq!(n.as_deref(), near);
                }
            }
            other => panic!("{more}: {other:?}"),
        }
    }
}

#[test]
fn a_value_outside_its_range_says_where_and_what_is_allowed() {
    assert_eq!(
        refusal("[stiffener]\nlining_thickness = 55\n"),
        "job.toml, line 7: \"stiffener.lining_thickness\" is 55; allowed is a length from 0 to 6 mm"
    );
    for more in [
        "heel_height = nan",
        "heel_height = inf",
        "heel_height = -11",
        "heel_height = \"20\"",
        "unit = \"feet\"",
        "foot = \"both\"",
        "[stiffener]\ninsole_on_last = \"yes\"",
        "[stiffener]\nwall_cuts = 6",
        "[stiffener]\nwall_cuts = -1",
        "[stiffener]\nwall_cuts = 2.5",
        "[stiffener]\nwall_cut_depth = 40",
        "[stiffener]\nkind = \"\"",
        "[stiffener]\nmedial = 3",
        "[marks]\nseat = [1, 2]",
        "[marks]\nseat = [1, 2, nan]",
        "[marks]\nseat = [1, 2, 3, 4]",
        "[marks]\nseat = [1, 2, 1e9]",
        "[marks]\nfeather_line = [[1, 2, 3], [1, 2, 4]]",
        "[marks]\nfeather_line = [1, 2, 3]",
        "[topline]\nheights = [{ along = 20, medial = 50 }]",
        "[topline]\nheights = [{ along = 20, medial = 50, lateral = 50, x = 1 }]",
        "[topline]\nheights = [{ along = 20, medial = 50, lateral = 50 }, { along = 20, medial = 50, lateral = 50 }]",
        "[topline]\nheights = [3]",
        // A mirror, a shear, too few rows, a projection.
        "pose = [[1,0,0,0],[0,1,0,0],[0,0,-1,0],[0,0,0,1]]",
        "pose = [[1,0.1,0,0],[0,1,0,0],[0,0,1,0],[0,0,0,1]]",
        "pose = [[1,0,0,0],[0,1,0,0],[0,0,1,0]]",
        "pose = [[1,0,0,0],[0,1,0,0],[0,0,1,0],[0,0,1,1]]",
        "pose = [[0,0,0,0],[0,0,0,0],[0,0,0,0],[0,0,0,1]]",
        // The scale of the pose contradicts the unit.
        "unit = \"cm\"\npose = [[1,0,0,0],[0,1,0,0],[0,0,1,0],[0,0,0,1]]",
    ] {
        let message = refusal(more);
        assert!(
            message.starts_with("job.toml, line ") && message.contains("allowed is"),
            "{message}"
        );
    }
    let size = LEAST.replace("EU 36", "39");
    assert!(read(&size).expect_err("no scale").to_string().contains("line 5"));
    for file in ["../last.stl", "a/b.stl", "/etc/x", "c:x", "", ".hidden", "job.toml"] {
        let text = LEAST.replace("last.stl", file);
        assert!(read(&text).is_err(), "{file}");
    }
}

#[test]
fn what_must_be_there_is_missed() {
    for (line, key) in [
        ("name = \"a\"\n", "name"),
        ("file = \"last.stl\"\n", "last.file"),
        ("size = \"EU 36\"\n", "last.size"),
        ("[last]\nfile = \"last.stl\"\nsize = \"EU 36\"\n", "last.file"),
    ] {
        match read(&LEAST.replace(line, "")) {
            Err(SettingsError::Missing { key: k, .. }) => assert_eq!(k, key),
            other => panic!("{line}: {other:?}"),
        }
    }
}

#[test]
fn text_that_is_no_toml_says_where() {
    let message = refusal("[marks\nseat = 1\n");
    assert!(message.contains("line 6") && message.contains("TOML"), "{message}");
    assert!(read("\u{0}\u{1}").is_err());
    assert!(refusal("file = \"twice.stl\"\n").contains("line 6"));
}

#[test]
fn no_cut_or_flipped_byte_makes_it_panic() {
    let whole = include_str!("fixtures/job_v1/job.toml");
    for end in (0..whole.len()).filter(|end| whole.is_char_boundary(*end)) {
        // Cut short it may still be a valid job; what counts is that it answers.
        let _ = read(&whole[..end]);
        let mut bytes = whole.as_bytes().to_vec();
        bytes[end] ^= 0x15;
        if let Ok(text) = String::from_utf8(bytes) {
            let _ = read(&text);
        }
    }
}
