//! Lengths that a queue can order.

use std::cmp::Ordering;

/// A length, mm, ordered as numbers are.
#[derive(Debug, Clone, Copy)]
pub(super) struct Distance(pub(super) f64);

impl PartialEq for Distance {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}

impl Eq for Distance {}

impl PartialOrd for Distance {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Distance {
    fn cmp(&self, other: &Self) -> Ordering {
        self.0.total_cmp(&other.0)
    }
}
