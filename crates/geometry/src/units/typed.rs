//! Lengths as people type them: `12`, `12,5`, `1.25 cm`, `1/2 in`, `3 1/4"`.

use super::{Mm, Unit};

/// Why a text is no length.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum LengthError {
    /// Nothing was typed.
    #[error("nothing was typed; type a number, such as 12.5")]
    Empty,
    /// A comma that may part thousands or decimals.
    #[error("\"{text}\" may mean {decimal} or {thousands}; type {decimal} or {thousands}")]
    Ambiguous {
        /// What was typed.
        text: String,
        /// The number if the comma parts decimals.
        decimal: String,
        /// The number if it parts thousands.
        thousands: String,
    },
    /// No number stands at the front.
    #[error("\"{text}\" is no length; type a number, such as 12.5, 12,5 mm, 1.25 cm or 1/2 in")]
    NoNumber {
        /// What was typed.
        text: String,
    },
    /// The word behind the number is no unit.
    #[error("\"{unit}\" is no unit of length here; use mm, cm, m or in")]
    NoUnit {
        /// The word.
        unit: String,
    },
}

impl Mm {
    /// Reads a length as typed: a number with a point or a comma, or a fraction, with a unit behind
    /// it or without (millimetres).
    ///
    /// # Errors
    /// When it is no number or unit, or when a comma with three digits behind it (`1,250`) may part
    /// thousands as well as decimals.
    pub fn typed(text: &str) -> Result<Mm, LengthError> {
        let typed = text.trim();
        if typed.is_empty() {
            return Err(LengthError::Empty);
        }
        let end = typed
            .find(|c: char| c.is_alphabetic() || matches!(c, '"' | '″' | '”'))
            .unwrap_or(typed.len());
        let (amount, unit) = (typed[..end].trim(), typed[end..].trim());
        if !amount.contains(|c: char| c.is_ascii_digit()) {
            return Err(LengthError::NoNumber { text: typed.to_owned() });
        }
        let in_mm = unit_named(unit)?.in_mm();
        let amount = amount_of(amount)?
            .filter(|amount| (amount * in_mm).is_finite())
            .ok_or_else(|| LengthError::NoNumber { text: typed.to_owned() })?;
        Ok(Mm(rounded(amount * in_mm)))
    }
}

/// To a billionth of a millimetre, lest `3"` become 76.19999999999999.
fn rounded(mm: f64) -> f64 {
    let fine = (mm * 1e9).round() / 1e9;
    if mm.abs() < 1e6 { fine } else { mm }
}

fn unit_named(word: &str) -> Result<Unit, LengthError> {
    match word.to_lowercase().trim_end_matches('.') {
        "" | "mm" => Ok(Unit::Mm),
        "cm" => Ok(Unit::Cm),
        "m" => Ok(Unit::M),
        "in" | "inch" | "inches" | "\"" | "″" | "”" => Ok(Unit::In),
        _ => Err(LengthError::NoUnit { unit: word.to_owned() }),
    }
}

/// A number, a fraction, or a whole number with a fraction behind it; `None` where it is none.
fn amount_of(text: &str) -> Result<Option<f64>, LengthError> {
    let (sign, text) = match text.strip_prefix('-').or_else(|| text.strip_prefix('−')) {
        Some(rest) => (-1.0, rest.trim_start()),
        None => (1.0, text.strip_prefix('+').unwrap_or(text).trim_start()),
    };
    let words: Vec<&str> = text.split_whitespace().collect();
    let amount = match words[..] {
        [number] if number.contains('/') => fraction(number),
        [number] => decimal(number)?,
        [whole, part] if part.contains('/') && digits(whole) => {
            whole.parse::<f64>().ok().zip(fraction(part)).map(|(whole, part)| whole + part)
        }
        _ => None,
    };
    Ok(amount.map(|amount| sign * amount))
}

fn digits(text: &str) -> bool {
    !text.is_empty() && text.bytes().all(|b| b.is_ascii_digit())
}

fn fraction(text: &str) -> Option<f64> {
    let (above, below) = text.split_once('/')?;
    let (above, below) = (above.trim(), below.trim());
    if !digits(above) || !digits(below) {
        return None;
    }
    let (above, below): (f64, f64) = (above.parse().ok()?, below.parse().ok()?);
    (below > 0.0).then(|| above / below)
}

/// A number with at most one point or comma in it.
fn decimal(text: &str) -> Result<Option<f64>, LengthError> {
    let plain = text.bytes().all(|b| b.is_ascii_digit() || b == b'.' || b == b',');
    let marks = text.matches(['.', ',']).count();
    if !plain || marks > 1 || !text.bytes().any(|b| b.is_ascii_digit()) {
        return Ok(None);
    }
    if let Some((whole, part)) = text.split_once(',') {
        // A number of a thousand and more does not begin with 0.
        if part.len() == 3 && (1..=3).contains(&whole.len()) && !whole.starts_with('0') {
            return Err(LengthError::Ambiguous {
                text: text.to_owned(),
                decimal: format!("{whole}.{}", part.trim_end_matches('0'))
                    .trim_end_matches('.')
                    .to_owned(),
                thousands: format!("{whole}{part}"),
            });
        }
    }
    Ok(text.replace(',', ".").parse().ok())
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn typed(text: &str) -> f64 {
        Mm::typed(text).unwrap_or_else(|e| panic!("{text}: {e}")).get()
    }

    #[test]
    fn what_people_type() {
        for (text, mm) in [
            ("12", 12.0),
            ("12,5", 12.5),
            (" 12.5 mm ", 12.5),
            ("1,25 cm", 12.5),
            ("1.25cm", 12.5),
            ("0.05 m", 50.0),
            ("1/2 in", 12.7),
            ("1 1/4\"", 31.75),
            ("3/16 inch", 4.7625),
            ("3\"", 76.2),
            ("16.1 cm", 161.0),
            ("-2,5", -2.5),
            ("−2.5", -2.5),
            (".5", 0.5),
            ("0,125", 0.125),
            ("2.125", 2.125),
        ] {
            assert_eq!(typed(text), mm, "{text}");
        }
    }

    #[test]
    fn thousands_or_decimals_is_asked_back() {
        let refused = Mm::typed("1,250").expect_err("may be either").to_string();
        assert_eq!(refused, "\"1,250\" may mean 1.25 or 1250; type 1.25 or 1250");
        let refused = Mm::typed("2,000 mm").expect_err("may be either").to_string();
        assert_eq!(refused, "\"2,000\" may mean 2 or 2000; type 2 or 2000");
    }

    #[test]
    fn what_is_no_length_is_refused() {
        for text in [
            "", "  ", "abc", "12 ft", "1,2,3", "1.2.3", "1/0", "1 2", "1/2/3", "12..5", "--3",
            "5 mm mm", "1.250,00",
        ] {
            assert!(Mm::typed(text).is_err(), "{text}");
        }
    }

    proptest! {
        #[test]
        fn any_text_is_read_or_refused(text in "\\PC{0,20}") {
            if let Ok(length) = Mm::typed(&text) {
                prop_assert!(length.get().is_finite());
            }
        }

        #[test]
        fn every_unit_says_the_same(mm in -5000.0..5000.0f64) {
            // No comma with three digits behind it comes of this.
            for (text, of) in [(format!("{mm} mm"), 1.0), (format!("{mm}cm"), 10.0), (format!("{mm} in"), 25.4)] {
                let read = Mm::typed(&text);
                prop_assert!(read.is_ok(), "{text}");
                prop_assert!(read.is_ok_and(|r| (r.get() - of * mm).abs() < 1e-9 * (1.0 + of * mm.abs())));
            }
        }
    }
}
