//! From the plain optimum on to that of a material, and to where the worst places are best.

use glam::DVec2;

use crate::dirichlet::Dirichlet;
use crate::held::HeldEdges;
use crate::layout::FlattenError;
use crate::newton::{self, Begin, Descent};
use crate::sheet::{Law, MeanTurn, Sheet};
use crate::start::Start;
use crate::strain::Strain;
use crate::system::System;

/// What a layout is refined on.
pub(crate) struct Stages<'a> {
    pub(crate) dirichlet: &'a Dirichlet,
    /// As stiff as asked.
    pub(crate) held: &'a [HeldEdges],
    pub(crate) anchors: [u32; 2],
    pub(crate) max_iterations: usize,
}

impl Stages<'_> {
    fn descend(&self, from: &mut Descent, sheet: &Sheet<'_>, system: &mut System) -> Result<(), FlattenError> {
        let start = Start { points: from.points.clone(), anchors: self.anchors };
        let left = self.max_iterations - from.iterations;
        let to = newton::descend(start, sheet, self.held, system, left, Begin::Afresh)?;
        from.points = to.points;
        from.iterations += to.iterations;
        from.converged = to.converged;
        Ok(())
    }

    /// Goes on from the plain optimum `descent`.
    pub(crate) fn refine(
        &self,
        descent: &mut Descent,
        law: Law,
        worst: bool,
        system: &mut System,
    ) -> Result<(), FlattenError> {
        if !descent.converged { return Ok(()); }
        let turn = law.has_grain().then(|| MeanTurn::new(self.dirichlet, &descent.points));
        let mut sheet = Sheet { geometry: self.dirichlet, law, turn };
        let show = |d: &Descent, what: &str| {
            let s = Strain::new(self.dirichlet, &d.points);
            let mut u: Vec<(f64, f64)> = self.dirichlet.weights().zip(&s.singular_values).flat_map(|(w, s)| s.map(|s| (s.ln(), w/2.0))).collect();
            u.sort_by(|a, b| a.0.total_cmp(&b.0));
            let q = |p: f64| { let mut b = 0.0; u.iter().find(|x| { b += x.1; b >= p }).unwrap().0 };
            eprintln!("{what}: it {} conv {} mean {:.3} p95 {:.3} p99 {:.3} max {:.3} trimmed {:.6} area>3% {:.2}", d.iterations, d.converged, s.mean, s.p95, s.p99,
                s.singular_values.iter().flatten().map(|s| (s-1.0).abs()).fold(0.0, f64::max)*100.0, q(0.99)-q(0.01),
                100.0*self.dirichlet.weights().zip(&s.singular_values).filter(|(_, s)| s.iter().any(|s| 1.0/s>1.03)).map(|x| x.0).sum::<f64>());
        };
        show(descent, "plain");
        if law != Law::PLAIN {
            self.descend(descent, &sheet, system)?;
            show(descent, "material");
        }
        if worst {
            let factor: f64 = std::env::var("FACTOR").ok().and_then(|f| f.parse().ok()).unwrap_or(4.0);
            let first: f64 = std::env::var("FIRST").ok().and_then(|f| f.parse().ok()).unwrap_or(1.0);
            let last: f64 = std::env::var("LAST").ok().and_then(|f| f.parse().ok()).unwrap_or(300.0);
            let reference = sheet.cost_of_worst(&descent.points);
            let mut k = first;
            while k <= last {
                sheet.law.emphasis = k / reference;
                let before = descent.iterations;
                self.descend(descent, &sheet, system)?;
                show(descent, &format!("k {k} ({:.0}) {} its", sheet.law.emphasis, descent.iterations - before));
                if !descent.converged { break; }
                k *= factor;
            }
        }
        if let Some(turn) = &sheet.turn {
            let back = DVec2::from_angle(-turn.angle(self.dirichlet, &descent.points));
            for p in &mut descent.points { *p = back.rotate(*p); }
        }
        Ok(())
    }
}
