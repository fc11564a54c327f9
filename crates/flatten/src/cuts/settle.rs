//! Takes cuts that were found on a coarser surface to the one that is given.

use super::search::Search;
use super::trial::{Bench, Trial};
use super::{CutOptions, Progress};

/// What has its place on the coarser surface has it on the given one, where it comes out nearer by
/// no more than this, mm: the coarser one cuts off bends.
pub(super) const SLACK: f64 = 0.25;

/// How cuts found on the coarser surface are made in the given one.
pub(super) struct Settling<'a, 'm> {
    pub(super) fine: &'a Bench<'m>,
    pub(super) options: &'a CutOptions,
    /// How far the ends of the coarser edge lie from those of the given one, mm along it.
    pub(super) ends: [f64; 2],
    /// Whether the search sees the surface in a mirror.
    pub(super) mirrored: bool,
}

impl Settling<'_, '_> {
    /// Makes the cuts in the given surface, keeps them if they are the best so far, and says
    /// whether they meet the goal.
    pub(super) fn settle(
        &self,
        coarse: &Trial,
        search: &mut Search<'_, '_, '_>,
        best: &mut Trial,
    ) -> bool {
        let mut sites = coarse.sites.clone();
        for site in &mut sites {
            site.share = self.share(site.share);
        }
        let tried = self.fine.try_out(&sites, self.options, &mut search.solves);
        let Some(trial) = tried else { return false };
        (search.progress)(Progress {
            cuts: trial.sites.len(),
            solves: search.solves,
            most_solves: self.options.most_solves,
            judged: trial.judged,
        });
        let goal = &self.options.goal;
        let met = trial.judged.meets(goal);
        if met || trial.judged.score(goal) < best.judged.score(goal) {
            *best = trial;
        }
        met
    }

    /// The place on the given edge of one on the coarser edge.
    fn share(&self, coarse: f64) -> f64 {
        let [first, last] = self.ends;
        let length = self.fine.stretch.length();
        let share = if self.ends.iter().all(|end| end.abs() < SLACK / 100.0) {
            coarse
        } else {
            ((first + coarse * (length + last - first)) / length).clamp(0.0, 1.0)
        };
        if self.mirrored { 1.0 - share } else { share }
    }
}
