//! From the plain optimum on to that of a material, and to where the worst places are best.

use glam::DVec2;

use crate::dirichlet::Dirichlet;
use crate::flattening::FlattenError;
use crate::held::HeldEdges;
use crate::newton::{self, Begin, Descent};
use crate::sheet::{Law, MeanTurn, Sheet};
use crate::start::Start;
use crate::system::System;

/// How much the worst places weigh, from stage to stage: exp(k c) with k times the cost that
/// 99 % of the area does not exceed at the plain optimum. The step between the stages keeps
/// each close enough for Newton's method to take a few steps. Beyond the last, the 99 % strain
/// of a heel falls by some tenths of a percent more, and the mean rises by as much: on a band
/// with 0.85 % mean and 8.9 % for 99 % of the area, 4 gives 1.20 and 6.1, 7 gives 1.37 and 5.6,
/// 16 gives 1.63 and 5.4, 64 gives 2.0 and 5.3.
const EMPHASES: [f64; 2] = [1.75, 7.0];
/// A worst cost below this is that of a surface that unrolls: there is nothing to push down.
const UNROLLS: f64 = 1e-8;

/// What a layout is refined with.
pub(crate) struct Stages<'a> {
    pub(crate) dirichlet: &'a Dirichlet,
    /// The held lines as stiff as asked, once.
    pub(crate) held: &'a [HeldEdges],
    pub(crate) anchors: [u32; 2],
    pub(crate) max_iterations: usize,
}

impl Stages<'_> {
    /// Goes on from the plain optimum `descent`, which is left alone where it is none.
    ///
    /// A stage that does not converge is given up, and the layout before it stays; the descent
    /// then counts as not converged.
    pub(crate) fn refine(
        &self,
        descent: &mut Descent,
        law: Law,
        worst_strain: bool,
        system: &mut System,
    ) -> Result<(), FlattenError> {
        let turn = law.has_grain().then(|| MeanTurn::new(self.dirichlet, &descent.points));
        let mut sheet = Sheet { geometry: self.dirichlet, law, turn };
        if descent.converged && law != Law::PLAIN {
            self.go_on(descent, &sheet, system)?;
        }
        if descent.converged && worst_strain {
            let worst = sheet.cost_of_worst(&descent.points);
            for emphasis in EMPHASES.map(|e| e / worst) {
                if worst > UNROLLS && descent.converged {
                    sheet.law.emphasis = emphasis;
                    self.go_on(descent, &sheet, system)?;
                }
            }
        }
        if let Some(turn) = &sheet.turn {
            let back = DVec2::from_angle(-turn.angle(self.dirichlet, &descent.points));
            for p in &mut descent.points {
                *p = back.rotate(*p);
            }
        }
        Ok(())
    }

    fn go_on(
        &self,
        descent: &mut Descent,
        sheet: &Sheet<'_>,
        system: &mut System,
    ) -> Result<(), FlattenError> {
        let start = Start { points: descent.points.clone(), anchors: self.anchors };
        let left = self.max_iterations.saturating_sub(descent.iterations);
        let end = newton::descend(start, sheet, self.held, system, left, Begin::Afresh)?;
        descent.iterations += end.iterations;
        descent.converged = end.converged;
        if end.converged {
            descent.points = end.points;
        }
        Ok(())
    }
}
