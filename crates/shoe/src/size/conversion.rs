//! One size told in the other systems.

use super::{Size, System};

/// A size in another system.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Converted {
    /// The nearest size of that system.
    pub size: Size,
    /// The number before it was rounded to the system's steps.
    pub number: f64,
    /// Whether rounding changed the length of the foot.
    pub approximate: bool,
}

/// Rounding by less than this changes nothing that a rule could show, in sizes.
const SAME: f64 = 0.005;

/// `size` in every system that reaches so far, itself among them, for the same length of foot:
/// systems that count the last count each with its own allowance, so the same foot has lasts
/// of different standard lengths in EU and in UK.
pub fn in_every_system(size: Size) -> Vec<Converted> {
    let foot = size.foot_length().get();
    System::all()
        .filter_map(|system| {
            let number = system.number_for_foot(foot);
            let there = if system == size.system() { size } else { Size::nearest(system, number)? };
            let approximate = (number - there.number()).abs() > SAME;
            Some(Converted { size: there, number, approximate })
        })
        .collect()
}
