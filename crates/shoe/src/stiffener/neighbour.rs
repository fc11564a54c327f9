//! Other sizes that one piece is to serve besides its own: its edge stays under their limits too.

use super::brief::Brief;
use super::chart::Chart;
use super::limits::{Ceiling, Landmarks, LimitError, ceilings};

/// A size that the piece is to serve too.
pub struct Neighbour<'a> {
    /// The wall of its own last.
    pub chart: Chart<'a, 'a>,
    /// What is asked for it.
    pub brief: &'a Brief,
    /// Its places.
    pub landmarks: &'a Landmarks,
}

impl Neighbour<'_> {
    /// What limits an edge on its last, over places along its feather line, mm.
    pub(super) fn ceilings(&self, samples: &[f64]) -> Result<Vec<Ceiling>, LimitError> {
        ceilings(&self.chart, self.brief, self.landmarks, samples)
    }
}

/// Lowers `own` ceilings to those of a neighbour, of `size`, wherever these lie lower.
pub(super) fn lower(own: &mut [Ceiling], of_neighbour: Vec<Ceiling>, size: &str) {
    for (own, other) in own.iter_mut().zip(of_neighbour) {
        for (mine, theirs) in own.drawn.iter_mut().zip(other.drawn) {
            *mine = mine.min(theirs);
        }
        own.borders.extend(other.borders);
        if other.height < own.height {
            own.height = other.height;
            own.formula = format!("{}, for {size}", other.formula);
        }
    }
}
