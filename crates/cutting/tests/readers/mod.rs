//! Small readers of what the writers wrote: just enough to see every line again.

#![allow(dead_code, reason = "each suite uses the readers of its formats")]

pub(crate) mod dxf;
pub(crate) mod pdf;
pub(crate) mod svg;

use geometry::drawing::{Arc, Knot};
use glam::DVec2;

/// A piece of a line as a file holds it, mm, y up.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Piece {
    /// Straight.
    Line(DVec2, DVec2),
    /// Circular: first knot with its bulge, last knot.
    Arc(Knot, Knot),
    /// Cubic.
    Cubic([DVec2; 4]),
}

impl Piece {
    /// The point at a share (0 to 1) of the piece.
    pub(crate) fn at(&self, share: f64) -> DVec2 {
        match *self {
            Piece::Line(a, b) => a.lerp(b, share),
            Piece::Arc(a, b) => Arc::between(a, b).expect("a bent piece").at(share),
            Piece::Cubic([a, b, c, d]) => {
                let rest = 1.0 - share;
                a * rest.powi(3)
                    + b * (3.0 * rest * rest * share)
                    + c * (3.0 * rest * share * share)
                    + d * share.powi(3)
            }
        }
    }
}

/// A line as a file holds it.
#[derive(Debug, Clone, Default)]
pub(crate) struct Line {
    pub(crate) pieces: Vec<Piece>,
    pub(crate) closed: bool,
}

impl Line {
    /// `n` points along every piece, from its first point on, and the end of an open line.
    pub(crate) fn points(&self, n: u32) -> Vec<DVec2> {
        let along = |piece: &Piece| {
            let piece = *piece;
            (0..n).map(move |i| piece.at(f64::from(i) / f64::from(n)))
        };
        let mut points: Vec<DVec2> = self.pieces.iter().flat_map(along).collect();
        if let (false, Some(last)) = (self.closed, self.pieces.last()) {
            points.push(last.at(1.0));
        }
        points
    }
}
