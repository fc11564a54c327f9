//! The edits: each one thing that a user can change, as data that can be stored and sent.

use geometry::units::{LengthError, Mm, Unit};
use glam::DVec3;
use serde::{Deserialize, Serialize};
use serde_json::Value;

use super::edit;
use super::error::SettingsError;
use super::keys::{self, Holds};
use super::settings::{Face, Job, ToplineHeight};
use crate::foot::Foot;
use crate::last::grade::Follow;
use crate::size::{Size, SizeError};
use crate::stiffener::brief::{Construction, Kind, Length};

/// One edit: which key gets which value. `None` takes the entry away, so that the default or
/// what the program finds holds again. As JSON: `{"set": "last.foot", "to": "left"}`.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "set", content = "to")]
pub enum Command {
    /// The name of the job.
    #[serde(rename = "name")]
    Name(String),
    /// The note.
    #[serde(rename = "note")]
    Note(Option<String>),
    /// Another mesh beside `job.toml`.
    #[serde(rename = "last.file")]
    File(String),
    /// The size.
    #[serde(rename = "last.size")]
    Size(Size),
    /// The fitting.
    #[serde(rename = "last.fitting")]
    Fitting(Option<String>),
    /// The unit of the mesh.
    #[serde(rename = "last.unit")]
    Unit(Option<Unit>),
    /// The foot.
    #[serde(rename = "last.foot")]
    Foot(Option<Foot>),
    /// The heel height.
    #[serde(rename = "last.heel_height")]
    HeelHeight(Option<Mm>),
    /// The pose: rows of the matrix from the file to the last frame.
    #[serde(rename = "last.pose")]
    Pose(Option<[[f64; 4]; 4]>),
    /// The seat.
    #[serde(rename = "marks.seat")]
    Seat(Option<DVec3>),
    /// The inside joint.
    #[serde(rename = "marks.joint_medial")]
    JointMedial(Option<DVec3>),
    /// The outside joint.
    #[serde(rename = "marks.joint_lateral")]
    JointLateral(Option<DVec3>),
    /// The upper end of the centre back.
    #[serde(rename = "marks.centre_back_top")]
    CentreBackTop(Option<DVec3>),
    /// The inside ankle.
    #[serde(rename = "marks.ankle_medial")]
    AnkleMedial(Option<DVec3>),
    /// The outside ankle.
    #[serde(rename = "marks.ankle_lateral")]
    AnkleLateral(Option<DVec3>),
    /// The heel breast.
    #[serde(rename = "marks.breast")]
    Breast(Option<DVec3>),
    /// The waist point, on the ridge of the upper side.
    #[serde(rename = "marks.waist")]
    Waist(Option<DVec3>),
    /// The instep point, on the ridge of the upper side.
    #[serde(rename = "marks.instep")]
    Instep(Option<DVec3>),
    /// The vamp point, where the ball plane meets the ridge.
    #[serde(rename = "marks.vamp")]
    Vamp(Option<DVec3>),
    /// The foremost point of the feather line.
    #[serde(rename = "marks.toe")]
    Toe(Option<DVec3>),
    /// The front end of the top, along the centre line.
    #[serde(rename = "marks.top_front")]
    TopFront(Option<DVec3>),
    /// The rear end of the top, along the centre line.
    #[serde(rename = "marks.top_back")]
    TopBack(Option<DVec3>),
    /// The feather line, closed.
    #[serde(rename = "marks.feather_line")]
    FeatherLine(Option<Vec<DVec3>>),
    /// The construction.
    #[serde(rename = "stiffener.construction")]
    Construction(Option<Construction>),
    /// The kind of stiffener.
    #[serde(rename = "stiffener.kind")]
    Kind(Option<Kind>),
    /// Whether the insole was on the last.
    #[serde(rename = "stiffener.insole_on_last")]
    InsoleOnLast(Option<bool>),
    /// The thickness of the insole.
    #[serde(rename = "stiffener.insole_thickness")]
    InsoleThickness(Option<Mm>),
    /// The thickness of the lining.
    #[serde(rename = "stiffener.lining_thickness")]
    LiningThickness(Option<Mm>),
    /// The thickness of the stiffener.
    #[serde(rename = "stiffener.thickness")]
    Thickness(Option<Mm>),
    /// The settling.
    #[serde(rename = "stiffener.settling")]
    Settling(Option<Mm>),
    /// The back height in place of the rule.
    #[serde(rename = "stiffener.back_height")]
    BackHeight(Option<Mm>),
    /// The distance below the topline.
    #[serde(rename = "stiffener.below_topline")]
    BelowTopline(Option<Mm>),
    /// The lasting margin.
    #[serde(rename = "stiffener.margin")]
    Margin(Option<Mm>),
    /// The face that is drawn.
    #[serde(rename = "stiffener.face")]
    Face(Option<Face>),
    /// The most cuts in the wall.
    #[serde(rename = "stiffener.wall_cuts")]
    WallCuts(Option<u8>),
    /// How far up into the wall they may reach.
    #[serde(rename = "stiffener.wall_cut_depth")]
    WallCutDepth(Option<Mm>),
    /// The length of the inside wing.
    #[serde(rename = "stiffener.medial.length")]
    MedialLength(Option<Length>),
    /// How far behind the joint the inside wing ends.
    #[serde(rename = "stiffener.medial.behind_joint")]
    MedialBehindJoint(Option<Mm>),
    /// The height of the inside wing at its end.
    #[serde(rename = "stiffener.medial.end_height")]
    MedialEndHeight(Option<Mm>),
    /// The ceiling under the inside ankle.
    #[serde(rename = "stiffener.medial.ceiling")]
    MedialCeiling(Option<Mm>),
    /// The length of the outside wing.
    #[serde(rename = "stiffener.lateral.length")]
    LateralLength(Option<Length>),
    /// How far behind the joint the outside wing ends.
    #[serde(rename = "stiffener.lateral.behind_joint")]
    LateralBehindJoint(Option<Mm>),
    /// The height of the outside wing at its end.
    #[serde(rename = "stiffener.lateral.end_height")]
    LateralEndHeight(Option<Mm>),
    /// The ceiling under the outside ankle.
    #[serde(rename = "stiffener.lateral.ceiling")]
    LateralCeiling(Option<Mm>),
    /// The wearer's inside ankle.
    #[serde(rename = "wearer.ankle_medial")]
    WearerAnkleMedial(Option<Mm>),
    /// The wearer's outside ankle.
    #[serde(rename = "wearer.ankle_lateral")]
    WearerAnkleLateral(Option<Mm>),
    /// How far the border of an ankle bone lies below its surveyed point.
    #[serde(rename = "wearer.ankle_drop")]
    WearerAnkleDrop(Option<Mm>),
    /// The feather line above the lowest place of the seat.
    #[serde(rename = "wearer.feather_height")]
    WearerFeatherHeight(Option<Mm>),
    /// The topline at the centre back.
    #[serde(rename = "topline.back")]
    ToplineBack(Option<Mm>),
    /// The topline along the sides.
    #[serde(rename = "topline.heights")]
    ToplineHeights(Option<Vec<ToplineHeight>>),
    /// Whether the heel height grows with the size.
    #[serde(rename = "range.heel_height")]
    RangeHeelHeight(Option<Follow>),
    /// Whether the toe spring grows with the size.
    #[serde(rename = "range.toe_spring")]
    RangeToeSpring(Option<Follow>),
    /// Whether the height of the top grows with the size.
    #[serde(rename = "range.top")]
    RangeTop(Option<Follow>),
}

/// Why a key and a text make no edit.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum CommandError {
    /// No such key.
    #[error("\"{key}\" is not a setting{}", super::error::nearest(.near))]
    UnknownKey {
        /// What was given.
        key: String,
        /// A known key that looks like it.
        near: Option<String>,
    },
    /// The schema belongs to the program.
    #[error("\"{key}\" is kept by Featherline itself and cannot be set")]
    Fixed {
        /// The key.
        key: String,
    },
    /// A length that is none, or may be two.
    #[error("\"{key}\": {cause}; allowed is {expected}")]
    Length {
        /// The key.
        key: String,
        /// What the key holds, in words.
        expected: String,
        /// What is wrong with it.
        cause: LengthError,
    },
    /// A size that is none, or may be several.
    #[error("\"{key}\": {cause}")]
    Size {
        /// The key.
        key: String,
        /// What is wrong with it.
        cause: SizeError,
    },
    /// The text is not what the key holds.
    #[error("\"{key}\" cannot be \"{text}\"; allowed is {expected}")]
    NotAllowed {
        /// The key.
        key: String,
        /// What was given.
        text: String,
        /// What the key holds, in words.
        expected: String,
    },
}

impl Command {
    /// Reads an edit as typed: a key and a text. `default` takes the entry away. Lengths are read
    /// as [`Mm::typed`] does, a place is `x y z`, `yes` and `no` are flags; lists are written as
    /// JSON.
    ///
    /// # Errors
    /// When the key is not known or the text is not what it holds. Ranges are checked when
    /// the edit is applied.
    pub fn parse(key: &str, text: &str) -> Result<Command, CommandError> {
        let Some(known) = keys::find(key) else {
            return Err(CommandError::UnknownKey {
                key: key.to_owned(),
                near: keys::nearest(key).map(str::to_owned),
            });
        };
        let text = text.trim();
        let to = match known.holds {
            Holds::Schema => return Err(CommandError::Fixed { key: key.to_owned() }),
            Holds::Line | Holds::FileName if keys::REQUIRED.contains(&key) => Some(text.into()),
            _ if text.eq_ignore_ascii_case("default") => Some(Value::Null),
            Holds::Line | Holds::FileName => Some(text.into()),
            Holds::Size => match text.parse::<Size>() {
                Ok(_) => Some(text.into()),
                Err(cause) => return Err(CommandError::Size { key: key.to_owned(), cause }),
            },
            Holds::OneOf(_) => Some(text.to_lowercase().replace([' ', '-'], "_").into()),
            Holds::Flag => match text.to_lowercase().as_str() {
                "yes" | "true" => Some(true.into()),
                "no" | "false" => Some(false.into()),
                _ => None,
            },
            Holds::Count(..) => text.parse::<u8>().ok().map(Value::from),
            Holds::Length(..) => match Mm::typed(text) {
                Ok(length) => Some(length.get().into()),
                Err(cause) => {
                    let (key, expected) = (key.to_owned(), known.holds.in_words());
                    return Err(CommandError::Length { key, expected, cause });
                }
            },
            Holds::Point => point(text).or_else(|| serde_json::from_str(text).ok()),
            Holds::Points | Holds::Pose | Holds::Heights => serde_json::from_str(text).ok(),
        };
        to.and_then(|to| Command::from_parts(key, &to)).ok_or_else(|| CommandError::NotAllowed {
            key: key.to_owned(),
            text: text.to_owned(),
            expected: known.holds.in_words(),
        })
    }

    /// The path of the key that is set.
    pub fn key(&self) -> String {
        self.parts().0
    }

    /// The value as JSON, null when the entry is taken away.
    pub fn value(&self) -> Value {
        self.parts().1
    }

    /// The text of `job.toml` after the edit, checked.
    pub(super) fn applied_to(
        &self,
        text: &str,
        file: &str,
    ) -> Result<(String, Job), SettingsError> {
        let (key, to) = self.parts();
        let text =
            edit::set(text, &key, &to).map_err(|e| super::check::not_toml(text, file, &e))?;
        let job = Job::from_toml(&text, file)?;
        Ok((text, job))
    }

    /// The edit that would bring back what `text` holds at this key. `None` when it holds
    /// nothing that could be set.
    pub(super) fn as_in(&self, text: &str) -> Option<Command> {
        let key = self.key();
        let old = edit::get(text, &key).ok()?;
        Command::from_parts(&key, &old)
    }

    fn from_parts(key: &str, to: &Value) -> Option<Command> {
        serde_json::from_value(serde_json::json!({ "set": key, "to": to })).ok()
    }

    fn parts(&self) -> (String, Value) {
        let mut whole = serde_json::to_value(self).unwrap_or_default();
        let key = whole["set"].as_str().unwrap_or_default().to_owned();
        (key, whole["to"].take())
    }
}

/// A coordinate with a point or a comma; places of a scan may be written with exponents.
fn coordinate(text: &str) -> Option<f64> {
    text.replace(',', ".").parse::<f64>().ok().filter(|n| n.is_finite())
}

/// Three numbers with spaces, or with commas where points mark the decimals.
fn point(text: &str) -> Option<Value> {
    let inner = text.trim_start_matches('[').trim_end_matches(']');
    let parts: Vec<&str> = if inner.matches(',').count() == 2 {
        inner.split(',').map(str::trim).collect()
    } else {
        inner.split_whitespace().collect()
    };
    let numbers: Vec<f64> = parts.iter().filter_map(|p| coordinate(p)).collect();
    (parts.len() == 3 && numbers.len() == 3).then(|| numbers.into())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Keys, edits and fields are three lists; this holds them together.
    #[test]
    fn every_key_has_an_edit_and_a_field() {
        let least = "schema = 1\nname = \"a\"\n[last]\nfile = \"a.stl\"\nsize = \"EU 36\"\n";
        let plain = Job::from_toml(least, "job.toml").expect("allowed");
        for key in keys::KEYS.iter().filter(|k| !matches!(k.holds, Holds::Schema)) {
            let typed = match key.holds {
                Holds::Schema => continue,
                Holds::Line if key.path == "last.fitting" => "7".to_owned(),
                Holds::Line | Holds::FileName => "b".to_owned(),
                Holds::Size => "UK 6".to_owned(),
                Holds::OneOf(words) => words[0].to_owned(),
                Holds::Flag => "yes".to_owned(),
                Holds::Count(_, most) => most.to_string(),
                Holds::Length(_, most) => most.to_string(),
                Holds::Point => "1 2 3".to_owned(),
                Holds::Points => "[[0,0,0],[1,0,0],[1,1,0]]".to_owned(),
                Holds::Pose => "[[1,0,0,4],[0,1,0,5],[0,0,1,6],[0,0,0,1]]".to_owned(),
                Holds::Heights => r#"[{"along":20,"medial":50,"lateral":45}]"#.to_owned(),
            };
            let command = Command::parse(key.path, &typed).unwrap_or_else(|e| panic!("{e}"));
            assert_eq!(command.key(), key.path);
            let (text, job) =
                command.applied_to(least, "job.toml").unwrap_or_else(|e| panic!("{e}"));
            assert_ne!(job, plain, "{} changes nothing", key.path);
            assert_eq!(command.as_in(&text).as_ref(), Some(&command));
        }
    }
}
