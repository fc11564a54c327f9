//! Sizes against published tables of last lengths.

use geometry::mesh::TriMesh;
use proptest::prelude::*;
use shoe::draft::given;
use shoe::job::{Command, Job};
use shoe::last::stand::{StandError, stand};
use shoe::size::{Size, SizeError};

/// EU sizes and standard last lengths in mm. Mark a (published): Paris point of 2/3 cm counted
/// from zero, an encyclopaedia's article on shoe sizes; a Chinese handbook page prints
/// 16 = 106.67, 19 = 126.67, 24 = 160, 28 = 186.67 and 48 = 320.
const EU: &[(&str, f64)] = &[
    ("EU 16", 106.67),
    ("EU 19", 126.67),
    ("EU 24", 160.0),
    ("EU 28", 186.67),
    ("EU 30", 200.0),
    ("EU 33", 220.0),
    ("EU 36", 240.0),
    ("EU 37", 246.67),
    ("EU 38", 253.33),
    ("EU 40", 266.67),
    ("EU 42", 280.0),
    ("EU 44", 293.33),
    ("EU 45", 300.0),
    ("EU 46", 306.67),
    ("EU 48", 320.0),
    ("EU 50", 333.33),
];

/// UK sizes and last lengths in mm. Mark a (published): barleycorns of 1/3 in, the child's run
/// from 4 in, child = 3 x inches - 12, adult = 3 x inches - 25, adult 1 = 8 2/3 in and
/// child 13 = 8 1/3 in, an encyclopaedia's article on shoe sizes.
const UK: &[(&str, f64)] = &[
    ("UK child 0", 101.6),
    ("UK child 4", 135.47),
    ("UK child 8", 169.33),
    ("UK child 10", 186.27),
    ("UK child 13", 211.67),
    ("UK 1", 220.13),
    ("UK 3", 237.07),
    ("UK 4", 245.53),
    ("UK 6", 262.47),
    ("UK 8", 279.4),
    ("UK 10", 296.33),
    ("UK 12", 313.27),
];

fn size(text: &str) -> Size {
    text.parse().unwrap_or_else(|e| panic!("{text}: {e}"))
}

#[test]
fn lengths_agree_with_the_tables() {
    for (text, published) in EU.iter().chain(UK) {
        let length = size(text).standard_last_length().get();
        assert!((length - published).abs() <= 0.01, "{text}: {length}, published {published}");
    }
}

#[test]
fn spelling_does_not_matter() {
    for (text, same) in [
        ("eu39", "EU 39"),
        (" EU  39,5 ", "EU 39.5"),
        ("Uk 6.0", "UK 6"),
        ("UKchild10", "UK child 10"),
        ("uk Child 10.5", "UK child 10.5"),
    ] {
        assert_eq!(size(text).to_string(), same);
    }
}

#[test]
fn what_is_not_understood_says_what_is() {
    for text in ["39", "6", ""] {
        let error = text.parse::<Size>().expect_err(text);
        assert!(error.to_string().contains("EU 15 to 50, UK 1 to 14 and UK child 0 to 13.5"));
    }
    assert!(matches!("39".parse::<Size>(), Err(SizeError::NoScale { .. })));
    for text in
        ["US 8", "EU", "EU thirty", "EU -39", "EU 3e1", "EU inf", "EU nan", "child 10", "UK 1.2.3"]
    {
        assert!(matches!(text.parse::<Size>(), Err(SizeError::Unknown { .. })), "{text}");
    }
    for text in ["EU 14", "EU 50.5", "EU 52", "EU 39.3", "UK 0", "UK 14.5", "UK child 14"] {
        assert!(matches!(text.parse::<Size>(), Err(SizeError::OffScale { .. })), "{text}");
    }
}

#[test]
fn childrens_sizes_are_told_apart() {
    for text in ["EU 34.5", "EU 20", "UK child 13", "UK child 0", "UK 1", "UK 2"] {
        assert!(size(text).is_child(), "{text}");
    }
    for text in ["EU 35", "EU 36", "UK 3", "UK 10"] {
        assert!(!size(text).is_child(), "{text}");
    }
}

proptest! {
    #[test]
    fn any_text_is_read_or_refused_without_a_panic(text in "\\PC{0,20}") {
        if let Ok(size) = text.parse::<Size>() {
            prop_assert_eq!(size.to_string().parse::<Size>().ok(), Some(size));
        }
    }
}

/// The ranges of the settings are those of the places that use them.
#[test]
fn every_size_and_heel_height_that_is_read_is_taken_for_standing() {
    let nothing = TriMesh { positions: Vec::new(), triangles: Vec::new() };
    for text in ["EU 15", "EU 50", "UK 1", "UK 14", "UK child 0", "UK child 13.5"] {
        for heel in ["-10", "150"] {
            let height = Command::parse("last.heel_height", heel).expect("a length").value();
            let toml = format!(
                "schema = 1\nname = \"a\"\n[last]\nfile = \"a.stl\"\nsize = \"{text}\"\nheel_height = {height}\n"
            );
            let job = Job::from_toml(&toml, "job.toml").expect("within its range");
            // The values are looked at first, so the empty mesh is what is left to refuse.
            assert_eq!(stand(&nothing, &given(&job)), Err(StandError::Empty), "{text}, {heel}");
            // As long as its size says and with 2 % at the toe, it is as long as a last may be.
            let length = 1.02 * size(text).standard_last_length().get();
            assert!((100.0..=340.1).contains(&length), "{text}: {length}");
        }
    }
    for heel in ["-10.5", "150.5"] {
        let toml = format!(
            "schema = 1\nname = \"a\"\n[last]\nfile = \"a.stl\"\nsize = \"EU 39\"\nheel_height = {heel}\n"
        );
        assert!(Job::from_toml(&toml, "job.toml").is_err(), "{heel}");
    }
}
