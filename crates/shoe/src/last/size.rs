//! Is it a last at all, and in which unit? By its overall size.

use geometry::units::Unit;

use super::error::StandError;
use super::marks::{Finding, Found};
use super::pose::Extents;

/// Lasts are this long, mm: from the smallest children's size to the largest with a pointed
/// toe, measured aslant on a high heel.
const LENGTHS: std::ops::RangeInclusive<f64> = 100.0..=380.0;
/// The standard last length of EU 39, taken for the size where none is given, mm.
const MIDDLING: f64 = 260.0;
/// Children's lasts are half as long as the usual ones, the longest only a fourth longer: in guessing,
/// as much more counts this many times as much less does.
const LONGER_IS_RARER: f64 = 3.0;
/// Middle and smallest extent of a last against the longest. Low lasts and feet cut low reach
/// the lower figures, tall ones for boots the upper ones (common practice, no source).
const MIDDLE: std::ops::RangeInclusive<f64> = 0.25..=0.85;
/// See [`MIDDLE`].
const SMALLEST: std::ops::RangeInclusive<f64> = 0.15..=0.60;

/// The unit in which the mesh is as long as a last, nearest to the standard length; with what
/// to tell the user where it was found and not given.
pub(super) fn unit(
    extents: &Extents,
    given: Option<Unit>,
    standard_length: Option<f64>,
) -> Result<(Unit, Option<Finding>), StandError> {
    let long = extents.sizes[0];
    if let Some(unit) = given {
        let length = long * unit.in_mm();
        let fits: Vec<String> = fitting(long).map(|u| u.to_string()).collect();
        return if length > *LENGTHS.end() {
            Err(StandError::TooLarge { length, unit, fits: listed(&fits) })
        } else if length < *LENGTHS.start() {
            Err(StandError::TooSmall { length, unit, fits: listed(&fits) })
        } else {
            Ok((unit, None))
        };
    }
    // A last is longer than its standard length by some allowance at the toe, and measured
    // aslant when its heel is high.
    let usual = 1.06 * standard_length.unwrap_or(MIDDLING);
    let away = |u: &Unit| {
        let times = (long * u.in_mm() / usual).ln();
        if times > 0.0 { LONGER_IS_RARER * times } else { -times }
    };
    let mut candidates: Vec<Unit> = fitting(long).collect();
    candidates.sort_by(|a, b| away(a).total_cmp(&away(b)));
    let Some(&unit) = candidates.first() else { return Err(StandError::NoUnit { length: long }) };
    let sureness = match candidates.get(1) {
        None => 0.98,
        Some(next) => (0.5 + (away(next) - away(&unit))).clamp(0.5, 0.95),
    };
    let length = long * unit.in_mm();
    let sentence = format!(
        "The file states no unit; with {unit} for its unit the form is {length:.0} mm at its longest, as a last may be."
    );
    Ok((unit, Some(Finding { what: Found::Unit(unit), sureness, sentence })))
}

fn fitting(long: f64) -> impl Iterator<Item = Unit> {
    Unit::ALL.into_iter().filter(move |u| LENGTHS.contains(&(long * u.in_mm())))
}

fn listed(units: &[String]) -> String {
    if units.is_empty() {
        "no unit would make it a last; choose another file".into()
    } else {
        format!("it would be a last if the unit were {}", units.join(" or "))
    }
}

/// How far in front of the rearmost point of the last the inside joint lies, in foot lengths
/// (survey of adults: ball length / foot length 0.741), and what a last is longer than its foot,
/// mm (common practice, no source).
const BALL_LENGTH: f64 = 0.741;
/// See [`BALL_LENGTH`].
const ALLOWANCE: f64 = 15.0;

/// The standard last length where none is given, mm, to the nearest half EU size: the length
/// of the last, or, where the toe is pointed or extended, what the inside joint speaks for.
pub(super) fn standard_length(length: f64, ball_length: f64) -> f64 {
    const HALF_SIZE: f64 = 10.0 / 3.0;
    let by_joint = ball_length / BALL_LENGTH + ALLOWANCE;
    (length.min(by_joint) / HALF_SIZE).round() * HALF_SIZE
}

/// Refuses what has not the proportions of a last. `scale` is millimetres per unit.
pub(super) fn check_proportions(extents: &Extents, scale: f64) -> Result<(), StandError> {
    let [length, middle, smallest] = extents.sizes.map(|s| s * scale);
    if MIDDLE.contains(&(middle / length)) && SMALLEST.contains(&(smallest / length)) {
        return Ok(());
    }
    let sign = if smallest / length < *SMALLEST.start() {
        "it is flat like a plate or thin like a rod"
    } else if middle / length > *MIDDLE.end() {
        "it is about as wide as it is long"
    } else {
        "its width and height do not fit its length"
    };
    Err(StandError::NotLastShaped { length, middle, smallest, sign: sign.into() })
}
