//! How much strain is left in a layout, and how much is allowed.

use crate::flattening::Flattening;
use crate::material::Material;
use crate::strain::upper_percentile;

/// What strain is held against.
#[derive(Debug, Clone, PartialEq)]
pub enum Limit {
    /// So many percent, of stretching and shrinking alike.
    Strain(f64),
    /// The limits of a material for being stretched and for being compressed, each by itself.
    Material(Material),
}

impl Limit {
    /// How many times the limit a triangle with these singular values, from the surface to the
    /// plane, is strained.
    fn times(&self, singular_values: [f64; 2]) -> f64 {
        match self {
            Self::Strain(limit) => {
                let [one, other] = singular_values.map(|s| 100.0 * (s - 1.0).abs());
                one.max(other) / limit
            }
            Self::Material(material) => material.times_limit(singular_values),
        }
    }
}

/// How much strain is allowed.
#[derive(Debug, Clone, PartialEq)]
pub struct Goal {
    /// What strain is held against.
    pub limit: Limit,
    /// How much of the area may be beyond the limit, percent.
    pub area_over: f64,
    /// 99 % of the area must be strained less than so many times the limit.
    pub times: f64,
}

impl Goal {
    /// What is asked for under a limit of `strain` percent: that at most 6 % of the area lie
    /// above it, and 99 % of the area below 1.75 times it. Both are rules of thumb from
    /// a bulged band, where the tips of five cuts alone strain some 5 % of the area.
    pub fn under(strain: f64) -> Self {
        Self { limit: Limit::Strain(strain), area_over: 6.0, times: 1.75 }
    }

    /// What is asked for within the limits of a material: that at most 6 % of the area lie beyond
    /// them, as above, and 99 % of the area below 2.5 times the limit. Board on that band may
    /// be compressed by 1 %, and 2.0 to 2.3 times that is what 99 % of the area keeps below
    /// whether there are three, four or five cuts: it is their own tips.
    pub fn within(material: &Material) -> Self {
        Self { limit: Limit::Material(material.clone()), area_over: 6.0, times: 2.5 }
    }
}

/// How much strain a layout has, by the measures that do not grow with the fineness of the mesh.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Judged {
    /// 99 % of the area has no more strain than this, percent.
    pub p99: f64,
    /// 99 % of the area is strained no more than so many times the limit.
    pub times: f64,
    /// Part of the area that is strained beyond the limit, percent.
    pub area_over: f64,
}

impl Judged {
    pub(super) fn new(flat: &Flattening, areas: &[f64], goal: &Goal) -> Self {
        let whole: f64 = areas.iter().sum();
        let values = &flat.strain.singular_values;
        let mut times: Vec<(f64, f64)> =
            values.iter().map(|s| goal.limit.times(*s)).zip(areas.iter().copied()).collect();
        let strained: f64 = times.iter().filter(|(t, _)| *t > 1.0).map(|(_, area)| area).sum();
        let p99 = flat.strain.p99;
        Self {
            p99,
            times: match goal.limit {
                Limit::Strain(limit) => p99 / limit,
                Limit::Material(_) => upper_percentile(&mut times, 0.99),
            },
            // An empty sum of floats is -0.
            area_over: 100.0 * (strained + 0.0) / whole,
        }
    }

    /// Whether both measures keep to the goal.
    pub fn meets(&self, goal: &Goal) -> bool {
        self.times <= goal.times && self.area_over <= goal.area_over
    }

    /// What is left to do, 1 where the goal is just met: the worse of the two measures counts,
    /// and a little of the other, so that it is not let go.
    pub(super) fn score(&self, goal: &Goal) -> f64 {
        let (p, a) = (self.times / goal.times, self.area_over / goal.area_over);
        0.75 * p.max(a) + 0.25 * p.min(a)
    }
}
