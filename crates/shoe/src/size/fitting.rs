//! Fittings (widths), and by how much the girths grow from size to size and fitting to fitting.

use std::fmt;

use crate::reasons::Mark;

use super::{Size, System};

const INCH: f64 = 25.4;

/// A family of fittings, in words of one system.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Family {
    /// From the narrowest to the widest.
    names: &'static [&'static str],
    /// Girth from one to the next, in 1/1000 mm: whole, so that families can be compared.
    step: u32,
    /// Where the step was found.
    source: &'static str,
    mark: Mark,
}

const CONTINENTAL: Family = Family {
    names: &["0", "1", "2", "3", "4", "5", "6", "7", "8"],
    step: 5_000,
    source: "a trade page (fittings 0 to 8, 5 mm each)",
    mark: Mark::Published,
};
const UK: Family = Family {
    names: &["A", "B", "C", "D", "E", "F", "G", "H"],
    step: 6_350,
    source: "W. A. Rossi, Complete Footwear Dictionary, as quoted by a public page (1/4 in)",
    mark: Mark::Published,
};
const US: Family = Family {
    names: &["AAAA", "AAA", "AA", "A", "B", "C", "D", "E", "EE", "EEE", "EEEE"],
    // 3/16 in; the thousandth dropped is less than a hair.
    step: 4_763,
    source: "a trade page (3/16 in)",
    mark: Mark::Published,
};
const JAPAN: Family = Family {
    names: &["A", "B", "C", "D", "E", "EE", "EEE", "EEEE"],
    step: 6_000,
    source: "JIS S 5037, by its table (6 mm)",
    mark: Mark::Published,
};
const CHINA: Family = Family {
    names: &["1", "1.5", "2", "2.5", "3", "3.5", "4", "4.5", "5"],
    step: 3_500,
    source: "a Chinese encyclopaedia page (a type 7 mm, half a type 3.5 mm)",
    mark: Mark::Published,
};

/// A fitting of one system. Made by reading, so it is always one that its system has.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Fitting {
    family: Family,
    place: usize,
}

/// Why a text is no fitting.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum FittingError {
    /// The system has none of that name.
    #[error("{system} has no fitting \"{text}\"; it has {names} ({narrow} is the narrowest)")]
    Unknown {
        /// The system.
        system: &'static str,
        /// What was given.
        text: String,
        /// Those there are.
        names: String,
        /// The first of them.
        narrow: &'static str,
    },
    /// The system has no fittings.
    #[error(
        "{system} names no fittings with a girth step (it writes the foot's width in mm); \
         leave the fitting away, or write the size in another system"
    )]
    None {
        /// The system.
        system: &'static str,
    },
}

impl Family {
    /// The fittings of `system`, where it has any.
    pub fn of(system: System) -> Option<Family> {
        match system {
            System::Eu => Some(CONTINENTAL),
            System::Uk | System::UkChild => Some(UK),
            System::UsMen | System::UsWomen | System::UsWomenGauge | System::UsChild => Some(US),
            System::Japan => Some(JAPAN),
            System::China | System::ChinaOld => Some(CHINA),
            System::Mondopoint => None,
        }
    }

    /// From the narrowest to the widest.
    pub fn names(self) -> &'static [&'static str] {
        self.names
    }

    /// Girth at the ball from one fitting to the next, mm.
    pub fn girth_step(self) -> f64 {
        f64::from(self.step) / 1000.0
    }

    /// Where the step was found, and how well founded it is.
    pub fn source(self) -> (&'static str, Mark) {
        (self.source, self.mark)
    }
}

impl Fitting {
    /// Reads the fitting `text` of `system`: "6", "G", "EE" or "2E".
    ///
    /// # Errors
    /// When the system has no such fitting.
    pub fn read(system: System, text: &str) -> Result<Fitting, FittingError> {
        let family = Family::of(system).ok_or(FittingError::None { system: system.short() })?;
        let plain = text.trim().to_uppercase().replace(',', ".");
        let spelled = letters_counted(&plain);
        family
            .names
            .iter()
            .position(|name| *name == spelled)
            .map(|place| Fitting { family, place })
            .ok_or_else(|| FittingError::Unknown {
                system: system.short(),
                text: text.trim().to_owned(),
                names: family.names.join(", "),
                narrow: family.names[0],
            })
    }

    /// What the ball girth gains from this fitting to `other` of the same family, mm.
    pub fn girth_to(self, other: Fitting) -> f64 {
        (other.place as f64 - self.place as f64) * self.family.girth_step()
    }
}

impl fmt::Display for Fitting {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.family.names[self.place])
    }
}

/// "2E" for "EE", as it is also written.
fn letters_counted(text: &str) -> String {
    let mut letters = text.chars();
    match (letters.next().and_then(|c| c.to_digit(10)), letters.next(), letters.next()) {
        (Some(n @ 1..=4), Some(letter @ ('A' | 'E')), None) => {
            std::iter::repeat_n(letter, n as usize).collect()
        }
        _ => text.to_owned(),
    }
}

/// How the ball girth grows along a system.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GirthRule {
    /// In words, with its numbers.
    pub formula: &'static str,
    /// Where it was found.
    pub source: &'static str,
    /// How well founded it is.
    pub mark: Mark,
}

/// The rule by which the ball girth grows from size to size in `system`.
pub fn girth_rule(system: System) -> GirthRule {
    match system {
        System::Eu => GirthRule {
            formula: "5 mm a size",
            source: "a trade page, and a Chinese encyclopaedia page (French step 5 mm)",
            mark: Mark::Published,
        },
        System::Uk
        | System::UkChild
        | System::UsMen
        | System::UsWomen
        | System::UsWomenGauge
        | System::UsChild => GirthRule {
            formula: "3/16 in a size up to child 10, 1/4 in above",
            source: "F. Y. Golding, The Manufacture of Boots and Shoes, 1902; W. A. Rossi, \
                     Complete Footwear Dictionary, as quoted by a public page (up to child 10 1/2)",
            mark: Mark::Published,
        },
        System::Japan => GirthRule {
            formula: "3 mm for 5 mm of length",
            source: "JIS S 5037, by its table; a page of a Japanese institute on foot shapes",
            mark: Mark::Published,
        },
        System::China | System::ChinaOld => GirthRule {
            formula: "3.5 mm for 5 mm of length",
            source: "GB/T 3293",
            mark: Mark::FromMemory,
        },
        System::Mondopoint => GirthRule {
            formula: "3 mm for 4 mm of length, as in EU",
            source: "common practice, no source",
            mark: Mark::CommonPractice,
        },
    }
}

/// What the ball girth gains from one size to another of the same system, mm; the fitting being the
/// same. None where the systems differ.
pub fn girth_between(from: Size, to: Size) -> Option<f64> {
    (from.system() == to.system()).then(|| girth_along(to) - girth_along(from))
}

/// The ball girth counted along a system from an arbitrary zero, mm.
fn girth_along(size: Size) -> f64 {
    let number = size.number();
    match size.system() {
        System::Eu => 5.0 * number,
        System::UkChild => barleycorn_girth(number),
        // Adult 1 follows child 13.
        System::Uk => barleycorn_girth(number + 13.0),
        // A third of a size shorter than UK of the same number.
        System::UsChild => barleycorn_girth(number - 1.0 / 3.0),
        System::UsMen => barleycorn_girth(number + 12.0),
        System::UsWomen => barleycorn_girth(number + 10.5),
        System::UsWomenGauge => barleycorn_girth(number + 11.0),
        System::Japan => 6.0 * number,
        System::China => 0.7 * number,
        System::ChinaOld => 3.5 * number,
        System::Mondopoint => 0.75 * number,
    }
}

/// Girth of the run that starts at UK child 0 and counts on through the adult sizes, mm.
fn barleycorn_girth(number: f64) -> f64 {
    INCH * (3.0 / 16.0 * number.min(10.0) + 0.25 * (number - 10.0).max(0.0))
}

/// What a last's ball girth is by a handbook's rule, mm: 5 x (size + fitting) in the continental
/// system (from memory of last-makers' handbooks, good to a millimetre). None elsewhere.
pub fn ball_girth_of_last(size: Size, fitting: Fitting) -> Option<f64> {
    (size.system() == System::Eu).then(|| 5.0 * (size.number() + fitting.place as f64))
}

/// Ball girths of the foot in mm for men and women by JIS S 5037, from the first rows of its
/// tables (men 230 A 207, women 210 A 192), 3 mm for 5 mm of length and 6 mm a letter.
/// None in other systems.
pub fn ball_girths_of_foot(size: Size, fitting: Fitting) -> Option<[f64; 2]> {
    (size.system() == System::Japan).then(|| {
        let letters = 6.0 * fitting.place as f64;
        let foot = size.foot_length().get();
        [(207.0, 230.0), (192.0, 210.0)].map(|(girth, at)| girth + 0.6 * (foot - at) + letters)
    })
}

/// Widths and the instep by a handbook of 1902, as they grow beside the ball girth, from UK
/// child 1 on.
pub mod golding {
    use super::INCH;

    /// Width of the tread, counted from UK child 1, mm: 1/16 in a size up to child 5, 1/12 in
    /// above. `number` counts on through the adult sizes (adult 1 is 14).
    pub fn tread_gain(number: f64) -> f64 {
        INCH * ((number.min(5.0) - 1.0) / 16.0 + (number - 5.0).max(0.0) / 12.0)
    }

    /// Width of the seat, likewise: 1/16 in a size.
    pub fn seat_gain(number: f64) -> f64 {
        INCH * (number - 1.0) / 16.0
    }

    /// The ball girth, likewise.
    pub fn joint_gain(number: f64) -> f64 {
        super::barleycorn_girth(number) - super::barleycorn_girth(1.0)
    }
}
