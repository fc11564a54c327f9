//! Left and right, inside and outside.

use std::fmt;

use serde::{Deserialize, Serialize};

/// The foot a last is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Foot {
    /// The left foot.
    Left,
    /// The right foot.
    Right,
}

/// A side of the foot. On screen and paper: *inside* and *outside*.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Side {
    /// The inside: towards the other foot.
    Medial,
    /// The outside.
    Lateral,
}

impl Foot {
    /// The sign of y on the inside of this foot, in the last frame (y to the wearer's left).
    pub const fn medial_sign(self) -> f64 {
        match self {
            Foot::Left => -1.0,
            Foot::Right => 1.0,
        }
    }

    /// The other foot.
    pub const fn other(self) -> Foot {
        match self {
            Foot::Left => Foot::Right,
            Foot::Right => Foot::Left,
        }
    }

    /// The side that lies towards the wearer's right: to the right, seen from behind.
    pub const fn right_side(self) -> Side {
        match self {
            Foot::Left => Side::Medial,
            Foot::Right => Side::Lateral,
        }
    }
}

impl Side {
    /// Both sides, the inside first.
    pub const BOTH: [Side; 2] = [Side::Medial, Side::Lateral];

    /// The word for it in the keys of `job.toml`.
    pub const fn key(self) -> &'static str {
        match self {
            Side::Medial => "medial",
            Side::Lateral => "lateral",
        }
    }
}

impl fmt::Display for Foot {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Foot::Left => "left",
            Foot::Right => "right",
        })
    }
}

impl fmt::Display for Side {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Side::Medial => "inside",
            Side::Lateral => "outside",
        })
    }
}
