//! How high people's ankles lie above the floor, by survey, for a length of foot.
//!
//! Surveys measured the most prominent *point* of the ankle bone, upright from the floor. The bone's
//! lower border, which an edge must stay under, lies lower; by how much nobody surveyed here
//! measured, so it is assumed, and stated wherever a share of people is told. There are no
//! figures for children, and none for the inside ankle of women.

use std::f64::consts::SQRT_2;
use std::fmt;

use serde::Serialize;

use crate::foot::Side;

/// Whom a survey measured.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Sex {
    /// Women.
    Women,
    /// Men.
    Men,
}

impl fmt::Display for Sex {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Sex::Women => "women",
            Sex::Men => "men",
        })
    }
}

/// How far the lower border of the ankle bone is taken to lie below its most prominent point, mm.
/// Common practice, no source: no survey measured it.
pub const DROP: f64 = 10.0;

/// Heights of one ankle point among people of one sex.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AnkleSurvey {
    /// Whom it measured.
    pub sex: Sex,
    /// Which ankle.
    pub side: Side,
    /// How many people.
    pub people: u32,
    /// Which survey.
    pub source: &'static str,
    /// Height at no foot length, and what it gains for each mm of foot; mm.
    line: (f64, f64),
    /// Spread about that, mm: standard deviation.
    spread: f64,
    /// Lengths of foot of all but 1 in 100 to either side, mm.
    feet: (f64, f64),
}

const ANSUR: &str = "ANSUR II 2012, US Army report NATICK/TR-15/007";

/// The surveys. The lines are least squares over the published measurements of each person.
const SURVEYS: [AnkleSurvey; 3] = [
    AnkleSurvey {
        sex: Sex::Women,
        side: Side::Lateral,
        people: 1986,
        source: ANSUR,
        line: (31.4193, 0.1272),
        spread: 4.859,
        feet: (219.0, 276.0),
    },
    AnkleSurvey {
        sex: Sex::Men,
        side: Side::Lateral,
        people: 4082,
        source: ANSUR,
        line: (33.8879, 0.14388),
        spread: 5.345,
        feet: (242.0, 302.0),
    },
    // Of this survey only the mean and the spread of all men are at hand.
    AnkleSurvey {
        sex: Sex::Men,
        side: Side::Medial,
        people: 2420,
        source: "USAF 1967",
        line: (85.69, 0.0),
        spread: 5.68,
        feet: (243.0, 300.0),
    },
];

impl AnkleSurvey {
    /// The survey of one ankle, where there is one.
    pub fn of(sex: Sex, side: Side) -> Option<&'static AnkleSurvey> {
        SURVEYS.iter().find(|survey| (survey.sex, survey.side) == (sex, side))
    }

    /// The mean height of the ankle point above the floor for a foot of `length` mm; mm.
    pub fn mean(&self, length: f64) -> f64 {
        self.line.0 + self.line.1 * length
    }

    /// The height below which the ankle point of `share` (0 to 1) of the people lies, mm; heights
    /// taken to be spread evenly to both sides (normally).
    pub fn height_of(&self, share: f64, length: f64) -> f64 {
        // Halving finds it to a thousandth of a mm in twenty steps; nothing here is in a hurry.
        let (mut low, mut high) = (self.mean(length) - 60.0, self.mean(length) + 60.0);
        for _ in 0..40 {
            let middle = (low + high) / 2.0;
            if self.share_below(middle, length) < share { low = middle } else { high = middle }
        }
        (low + high) / 2.0
    }

    /// The share of people (0 to 1) with feet of `length` mm whose ankle point lies below
    /// `height` mm above the floor.
    pub fn share_below(&self, height: f64, length: f64) -> f64 {
        let times = (height - self.mean(length)) / self.spread;
        0.5 * libm::erfc(-times / SQRT_2)
    }

    /// The share of people whose ankle's lower border an edge at `height` mm above the floor would
    /// reach, when the border lies `drop` mm below the point.
    pub fn share_touched(&self, height: f64, drop: f64, length: f64) -> f64 {
        self.share_below(height + drop, length)
    }

    /// Whether the survey measured more than a few feet of this length.
    pub fn covers(&self, length: f64) -> bool {
        (self.feet.0..=self.feet.1).contains(&length)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stiffener::heights::ankle_ceiling;

    /// Foot length, mean, first and fifth percentile of the outside ankle point, mm, by sex: computed
    /// from the public data of ANSUR II (2012). Mark a.
    const MEN: [(f64, f64, f64, f64); 4] = [
        (240.0, 68.4, 56.0, 59.6),
        (260.0, 71.3, 58.9, 62.5),
        (280.0, 74.2, 61.7, 65.4),
        (300.0, 77.1, 64.6, 68.3),
    ];
    const WOMEN: [(f64, f64, f64, f64); 4] = [
        (220.0, 59.4, 48.1, 51.4),
        (240.0, 61.9, 50.6, 54.0),
        (250.0, 63.2, 51.9, 55.2),
        (270.0, 65.8, 54.5, 57.8),
    ];

    fn survey(sex: Sex) -> &'static AnkleSurvey {
        AnkleSurvey::of(sex, Side::Lateral).expect("there is one")
    }

    #[test]
    fn percentiles_are_those_of_the_table() {
        for (sex, rows) in [(Sex::Men, MEN), (Sex::Women, WOMEN)] {
            let survey = survey(sex);
            for (foot, mean, first, fifth) in rows {
                for (found, printed) in [
                    (survey.mean(foot), mean),
                    (survey.height_of(0.01, foot), first),
                    (survey.height_of(0.05, foot), fifth),
                ] {
                    assert!((found - printed).abs() < 0.1, "{sex:?} {foot}: {found} {printed}");
                }
            }
        }
    }

    /// Counted person by person over the same data: percent of all whose outside ankle point, less
    /// so many mm, lies no higher than the ceiling of their size (last = foot + 40/3 mm). Mark a.
    #[test]
    fn shares_are_about_those_counted() {
        for (sex, drop, counted, feet) in [
            (Sex::Women, 10.0, 1.01, 246.29),
            (Sex::Women, 15.0, 10.22, 246.29),
            (Sex::Women, 20.0, 40.84, 246.29),
            (Sex::Men, 10.0, 0.0, 271.18),
            (Sex::Men, 15.0, 0.29, 271.18),
            (Sex::Men, 20.0, 4.24, 271.18),
        ] {
            // For the mean foot, whose share is near that of all.
            let ceiling = ankle_ceiling(Side::Lateral, feet + 40.0 / 3.0);
            let share = 100.0 * survey(sex).share_touched(ceiling, drop, feet);
            assert!((share - counted).abs() < 0.06 * counted + 0.25, "{share} {counted}");
        }
    }

    #[test]
    fn what_nobody_measured_is_not_told() {
        assert_eq!(AnkleSurvey::of(Sex::Women, Side::Medial), None);
        // USAF 1967: mean 85.69, first percentile 73 mm of 2,420 men. Mark a.
        let inside = AnkleSurvey::of(Sex::Men, Side::Medial).expect("there is one");
        assert!((inside.height_of(0.01, 270.0) - 73.0).abs() < 1.0);
        assert!(survey(Sex::Women).covers(250.0) && !survey(Sex::Women).covers(190.0));
    }
}
