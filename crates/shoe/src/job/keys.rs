//! The keys of `job.toml`: one line each, with what it may hold.

use serde::Serialize;

/// A key and what it may hold.
pub(super) struct Key {
    /// The path, parts joined by dots.
    pub(super) path: &'static str,
    /// What it may hold.
    pub(super) holds: Holds,
}

/// What a key may hold.
#[derive(Clone, Copy)]
pub(super) enum Holds {
    /// The version of the layout; checked before all else.
    Schema,
    /// One line of text.
    Line,
    /// The bare name of a file beside `job.toml`.
    FileName,
    /// A shoe size.
    Size,
    /// One of these words.
    OneOf(&'static [&'static str]),
    /// true or false.
    Flag,
    /// A whole number between these two.
    Count(u8, u8),
    /// A length in mm between these two.
    Length(f64, f64),
    /// `[x, y, z]`.
    Point,
    /// A list of at least three `[x, y, z]`.
    Points,
    /// Four rows of four numbers.
    Pose,
    /// A list of `{ along, medial, lateral }`.
    Heights,
}

/// The range of the heights of a topline, mm: up to the top of a high boot.
pub const TOPLINE: (f64, f64) = (5.0, 600.0);
/// Where along the axis a topline may be given, mm from the seat.
pub const ALONG: (f64, f64) = (-40.0, 400.0);

/// The range of a heel height, mm: what [`crate::last::stand`] takes. Below the ground of the
/// tread are heels lower than the ball.
const HEEL: (f64, f64) = (-10.0, 150.0);

const UNITS: &[&str] = &["mm", "cm", "m", "in"];
const FEET: &[&str] = &["left", "right"];
const CONSTRUCTIONS: &[&str] = &["cemented", "welted", "strobel", "stitched_outward"];
const KINDS: &[&str] = &["leather", "fibreboard", "thermoplastic", "moulded"];
const FACES: &[&str] = &["grain", "flesh", "adhesive_side", "smooth", "rough"];
const FOLLOWS: &[&str] = &["kept", "graded"];
const WINGS: &[&str] = &["long", "mid_waist", "short"];

/// Every key, in the order of the file. The ranges are generous: they catch a slip of the
/// finger or a wrong unit, they are no advice.
pub(super) const KEYS: &[Key] = &[
    key("schema", Holds::Schema),
    key("name", Holds::Line),
    key("note", Holds::Line),
    key("last.file", Holds::FileName),
    key("last.size", Holds::Size),
    key("last.fitting", Holds::Line),
    key("last.unit", Holds::OneOf(UNITS)),
    key("last.foot", Holds::OneOf(FEET)),
    key("last.heel_height", Holds::Length(HEEL.0, HEEL.1)),
    key("last.pose", Holds::Pose),
    key("marks.seat", Holds::Point),
    key("marks.joint_medial", Holds::Point),
    key("marks.joint_lateral", Holds::Point),
    key("marks.centre_back_top", Holds::Point),
    key("marks.ankle_medial", Holds::Point),
    key("marks.ankle_lateral", Holds::Point),
    key("marks.breast", Holds::Point),
    key("marks.waist", Holds::Point),
    key("marks.instep", Holds::Point),
    key("marks.vamp", Holds::Point),
    key("marks.toe", Holds::Point),
    key("marks.top_front", Holds::Point),
    key("marks.top_back", Holds::Point),
    key("marks.feather_line", Holds::Points),
    key("stiffener.construction", Holds::OneOf(CONSTRUCTIONS)),
    key("stiffener.kind", Holds::OneOf(KINDS)),
    key("stiffener.insole_on_last", Holds::Flag),
    key("stiffener.insole_thickness", Holds::Length(0.0, 10.0)),
    key("stiffener.lining_thickness", Holds::Length(0.0, 6.0)),
    key("stiffener.thickness", Holds::Length(0.3, 6.0)),
    key("stiffener.settling", Holds::Length(0.0, 10.0)),
    key("stiffener.back_height", Holds::Length(15.0, 120.0)),
    key("stiffener.below_topline", Holds::Length(0.0, 20.0)),
    key("stiffener.margin", Holds::Length(0.0, 40.0)),
    key("stiffener.face", Holds::OneOf(FACES)),
    key("stiffener.wall_cuts", Holds::Count(0, 5)),
    key("stiffener.wall_cut_depth", Holds::Length(8.0, 30.0)),
    key("stiffener.medial.length", Holds::OneOf(WINGS)),
    key("stiffener.medial.behind_joint", Holds::Length(0.0, 60.0)),
    key("stiffener.medial.end_height", Holds::Length(3.0, 60.0)),
    key("stiffener.medial.ceiling", Holds::Length(10.0, 120.0)),
    key("stiffener.lateral.length", Holds::OneOf(WINGS)),
    key("stiffener.lateral.behind_joint", Holds::Length(0.0, 60.0)),
    key("stiffener.lateral.end_height", Holds::Length(3.0, 60.0)),
    key("stiffener.lateral.ceiling", Holds::Length(10.0, 120.0)),
    key("wearer.ankle_medial", Holds::Length(10.0, 150.0)),
    key("wearer.ankle_lateral", Holds::Length(10.0, 150.0)),
    key("wearer.ankle_drop", Holds::Length(0.0, 25.0)),
    key("wearer.feather_height", Holds::Length(-5.0, 25.0)),
    key("topline.back", Holds::Length(TOPLINE.0, TOPLINE.1)),
    key("topline.heights", Holds::Heights),
    key("range.heel_height", Holds::OneOf(FOLLOWS)),
    key("range.toe_spring", Holds::OneOf(FOLLOWS)),
    key("range.top", Holds::OneOf(FOLLOWS)),
];

/// What a key may hold, for people and programs that ask before they edit.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
pub enum Holding {
    /// A length in mm between these two.
    Length {
        /// The least.
        least: f64,
        /// The most.
        most: f64,
    },
    /// A whole number between these two.
    Count {
        /// The least.
        least: u8,
        /// The most.
        most: u8,
    },
    /// One of these words.
    OneOf {
        /// The words.
        words: &'static [&'static str],
    },
    /// True or false.
    Flag,
    /// A shoe size.
    Size,
    /// One line of text.
    Line,
    /// A place in the coordinates of the scan.
    Place,
    /// Anything else.
    Other,
}

/// Every key that can be set, in the order of the file, with what it may hold.
pub fn keys() -> impl Iterator<Item = (&'static str, Holding)> {
    KEYS.iter().filter(|key| !matches!(key.holds, Holds::Schema)).map(|key| {
        let holding = match key.holds {
            Holds::Length(least, most) => Holding::Length { least, most },
            Holds::Count(least, most) => Holding::Count { least, most },
            Holds::OneOf(words) => Holding::OneOf { words },
            Holds::Flag => Holding::Flag,
            Holds::Size => Holding::Size,
            Holds::Line => Holding::Line,
            Holds::Point => Holding::Place,
            Holds::Schema | Holds::FileName | Holds::Points | Holds::Pose | Holds::Heights => {
                Holding::Other
            }
        };
        (key.path, holding)
    })
}

/// The keys without which there is no job.
pub(super) const REQUIRED: &[&str] = &["name", "last.file", "last.size"];

const fn key(path: &'static str, holds: Holds) -> Key {
    Key { path, holds }
}

/// The key at `path`.
pub(super) fn find(path: &str) -> Option<&'static Key> {
    KEYS.iter().find(|k| k.path == path)
}

/// Whether `path` is a table that holds keys.
pub(super) fn is_table(path: &str) -> bool {
    KEYS.iter().any(|k| k.path.strip_prefix(path).is_some_and(|rest| rest.starts_with('.')))
}

/// The known key nearest to `path`: the same word in another table, or one that differs by a
/// slip of the finger.
pub(super) fn nearest(path: &str) -> Option<&'static str> {
    let last = |p: &str| p.rsplit('.').next().map(str::to_owned);
    KEYS.iter()
        .map(|k| {
            let whole = strsim::damerau_levenshtein(path, k.path);
            let word = match (last(path), last(k.path)) {
                (Some(a), Some(b)) => strsim::damerau_levenshtein(&a, &b),
                _ => whole,
            };
            // The same word elsewhere is a better guess than a similar path.
            (whole.min(word + 1), whole, k.path)
        })
        .min()
        .filter(|(distance, _, path)| *distance <= 3.min(path.len() / 2))
        .map(|(_, _, path)| path)
}

impl Holds {
    /// In words, for a message.
    pub(super) fn in_words(self) -> String {
        match self {
            Holds::Schema => "a whole number from 1 on".into(),
            Holds::Line => "one line of text in quotes, at most 500 characters".into(),
            Holds::FileName => "the name of a file beside job.toml, without a folder".into(),
            Holds::Size => {
                "a size such as \"EU 39\", \"UK 6\", \"UK child 10\" or \"US men 8\"".into()
            }
            Holds::OneOf(words) => {
                format!(
                    "one of {}",
                    words.iter().map(|w| format!("\"{w}\"")).collect::<Vec<_>>().join(", ")
                )
            }
            Holds::Flag => "true or false".into(),
            Holds::Count(least, most) => format!("a whole number from {least} to {most}"),
            Holds::Length(least, most) => format!("a length from {least} to {most} mm"),
            Holds::Point => "a place [x, y, z] in the coordinates of the scan".into(),
            Holds::Points => "a list of at least three places [x, y, z]".into(),
            Holds::Pose => {
                "four rows of four numbers: a rotation with an even scale, a shift, and 0, 0, 0, 1"
                    .into()
            }
            Holds::Heights => format!(
                "a list of {{ along, medial, lateral }}, along rising within {} to {} mm, heights from {} to {} mm",
                ALONG.0, ALONG.1, TOPLINE.0, TOPLINE.1
            ),
        }
    }
}
