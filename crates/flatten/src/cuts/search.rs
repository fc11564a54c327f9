//! Looks for the fewest cuts: one after another where the strain is, each time all of them moved
//! to where together they do most.

use super::along::strain_along;
use super::trial::{Bench, Site, Trial};
use super::{CutOptions, Progress};

/// Places tried for each further cut.
const CANDIDATES: usize = 5;

/// How far a cut is moved along the edge and how much shallower or deeper it is made, mm, one
/// after the other. Most cuts stay as deep as they may be, so that depth is tried once.
const STEPS: [[f64; 2]; 3] = [[6.0, 0.0], [3.0, 3.0], [1.5, 0.0]];

/// Rounds over all cuts with one step, at most.
const ROUNDS: usize = 2;

/// A gain below this part is not worth a move.
const LEAST_GAIN: f64 = 2e-3;

/// Cuts shallower than this part of the greatest depth are not tried.
const SHALLOWEST: f64 = 0.4;

/// The search on one surface, with what it has spent.
pub(super) struct Search<'b, 'm, 'p> {
    pub(super) bench: &'b Bench<'m>,
    pub(super) options: &'b CutOptions,
    pub(super) solves: usize,
    pub(super) progress: &'p mut dyn FnMut(Progress),
}

impl Search<'_, '_, '_> {
    fn spent(&self) -> bool {
        self.solves >= self.options.most_solves
    }

    fn try_out(&mut self, sites: &[Site]) -> Option<Trial> {
        if self.spent() {
            return None;
        }
        let trial = self.bench.try_out(sites, self.options, &mut self.solves);
        if let Some(trial) = &trial {
            (self.progress)(Progress {
                cuts: sites.len(),
                solves: self.solves,
                most_solves: self.options.most_solves,
                judged: trial.judged,
            });
        }
        trial
    }

    /// `found` with one more cut, if that gains anything.
    pub(super) fn one_more(&mut self, found: &Trial) -> Option<Trial> {
        let mut best: Option<Trial> = None;
        for share in self.strained_places(found) {
            let mut sites = found.sites.clone();
            sites.push(Site { share, depth: self.options.deepest, taken: 0.0 });
            if let Some(trial) = self.try_out(&sites) {
                self.keep_better(&mut best, trial);
            }
        }
        let mut best = best?;
        self.improve(&mut best);
        (self.score(&best) < self.score(found)).then_some(best)
    }

    fn score(&self, trial: &Trial) -> f64 {
        trial.judged.score(&self.options.goal)
    }

    fn keep_better(&self, best: &mut Option<Trial>, other: Trial) {
        let better = best.as_ref().is_none_or(|b| self.score(&other) < self.score(b));
        if better {
            *best = Some(other);
        }
    }

    /// Moves the cuts one at a time while that gains something.
    fn improve(&mut self, found: &mut Trial) {
        for [along, deeper] in STEPS {
            let moves = [(along, 0.0), (-along, 0.0), (0.0, -deeper), (0.0, deeper)];
            for _ in 0..ROUNDS {
                let before = self.score(found);
                for i in 0..found.sites.len() {
                    for (along, deeper) in moves {
                        let Some(sites) = self.moved(&found.sites, i, along, deeper) else {
                            continue;
                        };
                        let Some(trial) = self.try_out(&sites) else { continue };
                        if self.score(&trial) < self.score(found) * (1.0 - LEAST_GAIN) {
                            *found = trial;
                            break;
                        }
                    }
                }
                if self.score(found) > before * (1.0 - LEAST_GAIN) {
                    break;
                }
            }
        }
    }

    /// The sites with one of them moved, if it can be.
    fn moved(&self, sites: &[Site], i: usize, along: f64, deeper: f64) -> Option<Vec<Site>> {
        let stretch = &self.bench.stretch;
        let mut moved = sites.to_vec();
        let at = stretch.within(sites[i].share * stretch.length() + along)?;
        moved[i].share = at / stretch.length();
        let shallowest = SHALLOWEST * self.options.deepest;
        moved[i].depth = (sites[i].depth + deeper).clamp(shallowest, self.options.deepest);
        (along != 0.0 || moved[i].depth != sites[i].depth).then_some(moved)
    }

    /// Shares of the stretch with the most strain above them within reach of a cut, the most
    /// strained first, apart from each other and from the cuts there are.
    fn strained_places(&self, found: &Trial) -> Vec<f64> {
        let length = self.bench.stretch.length();
        let strain = strain_along(self.bench, self.options, found);
        let bins = strain.len();
        let middle = |bin: usize| (bin as f64 + 0.5) / bins as f64;
        let closed = self.bench.stretch.closed();
        let smooth: Vec<f64> = (0..bins)
            .map(|bin| {
                let side = |away: usize, other: Option<usize>| {
                    let at = other.or_else(|| closed.then_some(away));
                    at.map_or(0.0, |at| strain[at])
                };
                let before = side(bins - 1, bin.checked_sub(1));
                let after = side(0, Some(bin + 1).filter(|b| *b < bins));
                2.0 * strain[bin] + before + after
            })
            .collect();
        let mut order: Vec<usize> = (0..bins).collect();
        order.sort_by(|a, b| smooth[*b].total_cmp(&smooth[*a]));
        let apart = |a: f64, b: f64| {
            let straight = (a - b).abs();
            length * if closed { straight.min(1.0 - straight) } else { straight }
        };
        let mut places: Vec<f64> = Vec::new();
        for bin in order {
            let free = |least: f64, others: &[f64]| {
                others.iter().all(|other| apart(*other, middle(bin)) >= least)
            };
            let cuts: Vec<f64> = found.sites.iter().map(|s| s.share).collect();
            if smooth[bin] > 0.0
                && free(self.options.apart, &cuts)
                && free(self.options.apart, &places)
            {
                places.push(middle(bin));
            }
            if places.len() == CANDIDATES {
                break;
            }
        }
        places
    }
}
