//! Numbers that say why they are what they are, and checks that say what they rest on.

use serde::Serialize;

/// How well founded a number is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub enum Mark {
    /// Published, or computed from published data.
    #[serde(rename = "a")]
    Published,
    /// Published, but quoted from memory.
    #[serde(rename = "b")]
    FromMemory,
    /// Common practice of the trade, no source; practice varies.
    #[serde(rename = "c")]
    CommonPractice,
    /// Entered by the user.
    #[serde(rename = "own")]
    Own,
    /// Measured on this last or piece.
    #[serde(rename = "measured")]
    Measured,
}

impl Mark {
    /// The mark in words, for a person.
    pub const fn words(self) -> &'static str {
        match self {
            Mark::Published => "published",
            Mark::FromMemory => "published, quoted from memory",
            Mark::CommonPractice => "common practice, no source",
            Mark::Own => "entered by you",
            Mark::Measured => "measured",
        }
    }
}

/// One dimension of a part.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Dimension {
    /// The part, such as `stiffener`.
    pub part: String,
    /// What is measured.
    pub name: String,
    /// The number.
    pub value: f64,
    /// Its unit: `mm`, `%`, `count`.
    pub unit: String,
    /// How it was computed.
    pub formula: String,
    /// Why.
    pub reason: String,
    /// How well founded it is.
    pub mark: Mark,
}

/// What a check found.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Verdict {
    /// Holds.
    Pass,
    /// Cannot be said: data or a rule is missing.
    Unsure,
    /// Does not hold.
    Fail,
}

/// One check of a part.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Check {
    /// What is checked.
    pub name: String,
    /// What was measured.
    pub value: f64,
    /// Its unit: `mm`, `%`, `degrees`, `count`.
    pub unit: String,
    /// What it is held against, in words and numbers.
    pub limit: String,
    /// The outcome.
    pub verdict: Verdict,
    /// Why the limit is what it is.
    pub reason: String,
    /// How well founded the limit is.
    pub mark: Mark,
    /// Where on the last or the piece.
    pub place: String,
}

/// A number as a ruler is read, with its unit: `51.0 mm`, `3.2 %`, `4`. Never a minus zero.
pub fn in_words(value: f64, unit: &str) -> String {
    let tenths = (value * 10.0).round() / 10.0 + 0.0;
    match unit {
        "count" => format!("{value:.0}"),
        _ => format!("{tenths:.1} {unit}"),
    }
}
