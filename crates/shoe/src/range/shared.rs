//! One piece for neighbouring sizes: the smallest governs its top, the largest its length.

use geometry::surface::Surface;
use geometry::warned::Warned;
use glam::DVec2;
use serde::Serialize;

use super::{Piece, Range, RangeError, adapt, with_size_nicks};
use crate::draft::{DraftError, Drafted, draft_for_all};
use crate::foot::Side;
use crate::size::Size;
use crate::stiffener::Stiffener;
use crate::stiffener::chart::Chart;
use crate::stiffener::edge::TopEdge;

/// The sizes that one piece serves.
#[derive(Debug, Clone, PartialEq)]
pub struct Shared {
    /// What it costs each of them, ascending.
    pub costs: Vec<Cost>,
}

/// What a size loses against a piece of its own, mm.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Cost {
    /// The size.
    pub size: Size,
    /// How much lower the back is.
    pub back_lower: f64,
    /// How much lower the top edge is, where it loses most.
    pub edge_lower: f64,
    /// How much higher it is, where it gains most.
    pub edge_higher: f64,
    /// The least room between the drawn edge and what limits it for this size; never below 0.
    pub room: f64,
    /// How much nearer to the joint the inside and the outside wing end.
    pub wing_nearer: [f64; 2],
    /// How far its feather line, laid flat, runs from that of the size's own piece, the centre backs on
    /// one line: what has to be pulled or pushed in lasting.
    pub flat_apart: f64,
}

impl Shared {
    /// The smallest of the sizes.
    pub fn smallest(&self) -> Option<Size> {
        self.costs.first().map(|cost| cost.size)
    }
}

/// "EU 36 to 37".
pub(super) fn in_words(smallest: Option<Size>, largest: Size) -> String {
    match smallest {
        Some(smallest) if smallest != largest => format!("{smallest} to {}", largest.number()),
        _ => largest.to_string(),
    }
}

impl Range<'_> {
    /// One piece for `largest` and the `smaller` sizes, ascending, whose own pieces these are, for one
    /// foot and fitting. It lies on the last of the largest, and its edge keeps under the limits of
    /// all. With no smaller size it is the piece of the largest itself.
    ///
    /// # Errors
    /// When the limits of all sizes cannot be met together.
    pub fn shared(&self, largest: &Piece, smaller: &[&Piece]) -> Result<Piece, RangeError> {
        let Some(smallest) = smaller.first() else { return Ok(largest.clone()) };
        let smallest = smallest.wanted.size;
        let wanted = largest.wanted;
        let failed = |cause| RangeError::Draft { wanted, cause: Box::new(cause) };
        let (job, mut warnings) = adapt::job_for(self.job, &wanted, self.last.foot);
        let mut brief = job.brief();
        brief.size = brief.size.replacen(
            &wanted.size.to_string(),
            &in_words(Some(smallest), wanted.size),
            1,
        );
        let others: Vec<&Drafted> = smaller.iter().map(|piece| &piece.drafted).collect();
        let last = largest.drafted.last.clone();
        let drafted = draft_for_all(&job, brief, last, Vec::new(), &others).map_err(failed)?;
        let Warned { value: mut drafted, warnings: on_draft } = drafted;
        warnings.extend(on_draft);
        warnings.extend(with_size_nicks(&mut drafted, &wanted));
        let costs: Vec<Cost> = smaller
            .iter()
            .chain([&largest])
            .map(|own| cost(own.wanted.size, &own.drafted, &drafted.stiffener))
            .collect::<Result<_, _>>()
            .map_err(failed)?;
        Ok(Piece { wanted, drafted, warnings, shared: Some(Shared { costs }) })
    }
}

/// What `own`, the piece of `size` on its own last, has that `shared` has not.
fn cost(size: Size, own: &Drafted, shared: &Stiffener) -> Result<Cost, DraftError> {
    let Drafted { last, stiffener: mine, .. } = own;
    let surface = Surface::new(&last.mesh)?;
    let chart = Chart::new(&surface, &last.marks.feather_line.points, last.foot)?;
    let wing_nearer = Side::BOTH.map(|side| {
        let end = |of: &TopEdge| chart.feather(of.end(side).along).x;
        end(&shared.edge) - end(&mine.edge)
    });
    // Where both have a top edge, on the places of the size's own.
    let [left, right] = mine.edge.ends;
    let both = |along: f64| {
        let within = |ends: [f64; 2]| (ends[0]..=ends[1]).contains(&along);
        let shared = shared.edge.ends.map(|end| end.tip());
        within([left.tip(), right.tip()]) && within(shared)
    };
    let places = mine.edge.samples.iter().enumerate().filter(|(_, along)| both(**along));
    let (mut lower, mut higher, mut room) = (0.0_f64, 0.0_f64, f64::INFINITY);
    for (i, along) in places {
        let height = shared.edge.height(*along);
        let gain = height - mine.edge.heights[i];
        lower = lower.max(-gain);
        higher = higher.max(gain);
        for ceiling in &mine.edge.ceilings {
            room = room.min(ceiling.drawn[i] + ceiling.below - height);
        }
    }
    Ok(Cost {
        size,
        back_lower: mine.edge.back_height - shared.edge.back_height,
        edge_lower: lower,
        edge_higher: higher,
        room,
        wing_nearer,
        flat_apart: flat_apart(mine, shared),
    })
}

/// The furthest that the flat feather line of `mine` lies from that of `shared`, mm.
fn flat_apart(mine: &Stiffener, shared: &Stiffener) -> f64 {
    let line: &[DVec2] = &shared.margin.feather;
    let apart = mine.margin.feather.iter().filter(|point| {
        // Beyond the shorter piece there is nothing to lie beside.
        line.first().is_some_and(|end| end.x <= point.x)
            && line.last().is_some_and(|end| point.x <= end.x)
    });
    apart.map(|point| geometry::outline::distance_to_line(*point, line)).fold(0.0, f64::max)
}
