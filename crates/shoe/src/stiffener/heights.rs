//! How high a stiffener may reach: the back height and the ceilings under the ankles.
//!
//! Heights are read on the bare last, along the surface, square to the feather line.

use crate::foot::Side;

/// Standard last lengths, mm, between which the ankle ceilings rise. Common practice, no
/// source: the smallest and largest usual adult last (EU 36 and EU 45).
pub const ADULT_RANGE: (f64, f64) = (240.0, 300.0);

/// The height beyond which the tendon meets the edge: a fifth of the standard last length, mm.
/// Common practice, no source.
pub fn back_height(standard_last_length: f64) -> f64 {
    standard_last_length / 5.0
}

/// The ceiling for the edge under the ankle of one side, mm: outside 40 to 45, inside 46.5 to
/// 50 between the standard last lengths 240 and 300, level above, and below in proportion to
/// the length (the last is our extension). Common practice, no source; the outside one was
/// held against ANSUR II (2012): of 6,068 adults none had the ankle point at or below it.
pub fn ankle_ceiling(side: Side, standard_last_length: f64) -> f64 {
    let (low, high) = match side {
        Side::Lateral => (40.0, 45.0),
        Side::Medial => (46.5, 50.0),
    };
    let (from, to) = ADULT_RANGE;
    if standard_last_length < from {
        return low * standard_last_length / from;
    }
    let share = ((standard_last_length - from) / (to - from)).min(1.0);
    low + (high - low) * share
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Rows of the table that holds the rule of thumb against ANSUR II (US Army report
    /// NATICK/TR-15/007, public release): EU size, last length, outside and inside limit,
    /// back height with 3 mm for settling. The rule itself: common practice, no source.
    const RULE_TABLE: [(f64, f64, f64, f64, f64); 11] = [
        (36.0, 240.0, 40.0, 46.5, 51.0),
        (37.0, 246.7, 40.6, 46.9, 52.3),
        (38.0, 253.3, 41.1, 47.3, 53.7),
        (39.0, 260.0, 41.7, 47.7, 55.0),
        (40.0, 266.7, 42.2, 48.1, 56.3),
        (41.0, 273.3, 42.8, 48.4, 57.7),
        (42.0, 280.0, 43.3, 48.8, 59.0),
        (43.0, 286.7, 43.9, 49.2, 60.3),
        (44.0, 293.3, 44.4, 49.6, 61.7),
        (45.0, 300.0, 45.0, 50.0, 63.0),
        (46.0, 306.7, 45.0, 50.0, 64.3),
    ];

    #[test]
    fn the_rules_give_the_table() {
        for (eu, last, outside, inside, back) in RULE_TABLE {
            let length = eu * 20.0 / 3.0;
            assert!((length - last).abs() <= 0.05, "EU {eu}: {length}");
            // The table is printed to 0.1 mm.
            assert!((ankle_ceiling(Side::Lateral, length) - outside).abs() <= 0.051, "EU {eu}");
            assert!((ankle_ceiling(Side::Medial, length) - inside).abs() <= 0.051, "EU {eu}");
            assert!((back_height(length) + 3.0 - back).abs() <= 0.051, "EU {eu}");
        }
    }

    #[test]
    fn below_the_adult_range_ceilings_fall_in_proportion() {
        assert_eq!(ankle_ceiling(Side::Lateral, 120.0), 20.0);
        assert_eq!(ankle_ceiling(Side::Medial, 120.0), 23.25);
    }
}
