//! Shoe sizes as people say them, and the standard last length that each stands for.

use std::fmt;
use std::str::FromStr;

use geometry::units::Mm;
use serde::{Deserialize, Serialize};

/// What a size may look like; ends every message about a size that was not understood.
const UNDERSTOOD: &str = "understood are EU 15 to 50, UK 1 to 14 and UK child 0 to 13.5, in half steps, such as \
     \"EU 39\", \"UK 6.5\" or \"UK child 10\"";

/// A Paris point, the step of the EU scale: two thirds of a centimetre.
const PARIS_POINT: f64 = 20.0 / 3.0;

/// The smallest EU size that still counts as an adult's.
const SMALLEST_ADULT_EU: f64 = 35.0;

/// A size in one of the scales. Made by parsing, so it is always within its scale.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Size {
    scale: Scale,
    number: f64,
}

/// The scale that a size is counted in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Scale {
    /// Paris points from zero.
    Eu,
    /// Barleycorns (a third of an inch), the adult run.
    Uk,
    /// Barleycorns, the children's run that ends where the adult one starts.
    UkChild,
}

/// Why a text is no size.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum SizeError {
    /// A number without its scale.
    #[error("size \"{text}\" does not say its scale; {UNDERSTOOD}")]
    NoScale {
        /// What was given.
        text: String,
    },
    /// A scale or a number that is not known.
    #[error("size \"{text}\" is not known; {UNDERSTOOD}")]
    Unknown {
        /// What was given.
        text: String,
    },
    /// Outside the scale, or not a half step.
    #[error("size \"{text}\" is not on its scale; {UNDERSTOOD}")]
    OffScale {
        /// What was given.
        text: String,
    },
}

impl Scale {
    /// The smallest and the largest number on the scale: those whose lasts, standard length and
    /// an allowance at the toe, lie within what is stood as a last.
    fn range(self) -> (f64, f64) {
        match self {
            Scale::Eu => (15.0, 50.0),
            Scale::Uk => (1.0, 14.0),
            Scale::UkChild => (0.0, 13.5),
        }
    }
}

impl Size {
    /// The scale.
    pub fn scale(self) -> Scale {
        self.scale
    }

    /// The number on the scale.
    pub fn number(self) -> f64 {
        self.number
    }

    /// The standard last length (SLL): the length that the size names, whatever the toe does.
    ///
    /// EU: size x 20/3 mm. UK: (size + 25)/3 in. UK child: (size + 12)/3 in.
    pub fn standard_last_length(self) -> Mm {
        Mm::new(match self.scale {
            Scale::Eu => self.number * PARIS_POINT,
            Scale::Uk => (self.number + 25.0) / 3.0 * 25.4,
            Scale::UkChild => (self.number + 12.0) / 3.0 * 25.4,
        })
    }

    /// Whether it is a child's size: in the children's scale, or shorter than EU 35 (so UK 1
    /// and 2 are). No survey and no rule here covers children's ankles.
    pub fn is_child(self) -> bool {
        self.scale == Scale::UkChild
            || self.standard_last_length().get() < SMALLEST_ADULT_EU * PARIS_POINT - 1e-9
    }
}

impl FromStr for Size {
    type Err = SizeError;

    /// Reads "EU 39", "EU39.5", "UK 6", "UK child 10"; capitals, spaces and a decimal comma
    /// do not matter.
    fn from_str(text: &str) -> Result<Self, SizeError> {
        let plain: String =
            text.to_lowercase().replace(',', ".").split_whitespace().collect::<Vec<_>>().concat();
        let (scale, number) = if let Some(rest) = plain.strip_prefix("eu") {
            (Scale::Eu, rest)
        } else if let Some(rest) = plain.strip_prefix("ukchild") {
            (Scale::UkChild, rest)
        } else if let Some(rest) = plain.strip_prefix("uk") {
            (Scale::Uk, rest)
        } else if is_decimal(&plain) {
            return Err(SizeError::NoScale { text: text.to_owned() });
        } else {
            return Err(SizeError::Unknown { text: text.to_owned() });
        };
        let number: f64 = Some(number)
            .filter(|n| is_decimal(n))
            .and_then(|n| n.parse().ok())
            .ok_or_else(|| SizeError::Unknown { text: text.to_owned() })?;
        let (least, most) = scale.range();
        if !(least..=most).contains(&number) || (number * 2.0).fract() != 0.0 {
            return Err(SizeError::OffScale { text: text.to_owned() });
        }
        Ok(Self { scale, number })
    }
}

/// Digits with at most one point: no sign, no exponent, no `inf`.
fn is_decimal(text: &str) -> bool {
    text.chars().any(|c| c.is_ascii_digit())
        && text.chars().all(|c| c.is_ascii_digit() || c == '.')
        && text.matches('.').count() <= 1
}

impl fmt::Display for Size {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let scale = match self.scale {
            Scale::Eu => "EU",
            Scale::Uk => "UK",
            Scale::UkChild => "UK child",
        };
        write!(f, "{scale} {}", self.number)
    }
}

impl TryFrom<String> for Size {
    type Error = SizeError;
    fn try_from(text: String) -> Result<Self, SizeError> {
        text.parse()
    }
}

impl From<Size> for String {
    fn from(size: Size) -> String {
        size.to_string()
    }
}
