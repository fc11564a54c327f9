//! Reads a size as people write it, and asks back where it can mean more than one.

use std::str::FromStr;

use super::{Size, System};

/// Why a text is no size.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum SizeError {
    /// It fits more than one system.
    #[error(
        "size \"{text}\" can be one of several, with these lasts: {meant}; write the one you mean"
    )]
    Ambiguous {
        /// What was given.
        text: String,
        /// The sizes it can stand for, each with its last.
        meant: String,
    },
    /// No system, or no number.
    #[error("size \"{text}\" is not known; sizes are written {}", examples())]
    Unknown {
        /// What was given.
        text: String,
    },
    /// Outside its system, or between its steps.
    #[error("size \"{text}\" does not exist: there are {extent}")]
    OffScale {
        /// What was given.
        text: String,
        /// The numbers of the system.
        extent: String,
    },
    /// A number that no system has.
    #[error(
        "size \"{text}\" names no system, and none has that number; sizes are written {}",
        examples()
    )]
    NoSystem {
        /// What was given.
        text: String,
    },
}

/// How sizes are written; ends every message about one that was not understood.
fn examples() -> &'static str {
    "\"EU 39\", \"UK 6.5\", \"UK child 10\", \"US men 8\", \"US women 8\", \"US women gauge 8\", \
     \"US child 10\", \"Mondopoint 245\", \"JP 24.5\", \"CN 245\""
}

impl FromStr for Size {
    type Err = SizeError;

    /// Reads "EU 39", "EU39.5", "39 EU", "UK 6", "UK child 10", "US men 8 1/2"; capitals,
    /// spaces and a decimal comma do not matter.
    fn from_str(text: &str) -> Result<Self, SizeError> {
        let unknown = || SizeError::Unknown { text: text.to_owned() };
        let is_digit = |c: char| c.is_ascii_digit() || c == '.';
        let plain = text.trim().to_lowercase().replace(',', ".").replace('½', ".5");
        let plain = plain.replace(" 1/2", ".5").replace("'s", "");
        let words: Vec<&str> = plain.split_whitespace().collect();
        if words.windows(2).any(|pair| pair[0].ends_with(is_digit) && pair[1].starts_with(is_digit))
        {
            return Err(unknown());
        }
        let plain = words.concat();
        let word = plain.trim_matches(is_digit);
        let (before, behind) =
            plain.split_once(word).filter(|_| !word.is_empty()).unwrap_or((&plain, ""));
        let number = match (before, behind) {
            (number, "") | ("", number) => decimal(number),
            _ => None,
        };
        let number = number.ok_or_else(unknown)?;
        if word.is_empty() {
            return Err(ambiguous(text, number, System::all()));
        }
        if word == "us" {
            let american = [System::UsMen, System::UsWomen, System::UsWomenGauge, System::UsChild];
            return Err(ambiguous(text, number, american.into_iter()));
        }
        let system = System::spelled(word).ok_or_else(unknown)?;
        Size::new(system, number)
            .ok_or_else(|| SizeError::OffScale { text: text.to_owned(), extent: system.extent() })
    }
}

/// Which sizes a number may stand for.
fn ambiguous(text: &str, number: f64, systems: impl Iterator<Item = System>) -> SizeError {
    let meant: Vec<String> = systems
        .filter_map(|system| Size::new(system, number))
        .map(|size| format!("{size} ({:.1} mm)", size.standard_last_length().get()))
        .collect();
    let text = text.to_owned();
    if meant.is_empty() {
        SizeError::NoSystem { text }
    } else {
        SizeError::Ambiguous { text, meant: meant.join(", ") }
    }
}

/// Digits with at most one point: no sign, no exponent, no `inf`.
pub(super) fn decimal(text: &str) -> Option<f64> {
    let is_decimal = text.chars().any(|c| c.is_ascii_digit())
        && text.chars().all(|c| c.is_ascii_digit() || c == '.')
        && text.matches('.').count() <= 1;
    text.parse().ok().filter(|_| is_decimal)
}
