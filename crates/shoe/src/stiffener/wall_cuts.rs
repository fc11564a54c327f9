//! Cuts up into the wall from the feather line, where the user allows them: the fewest that let the
//! piece keep to the limits of its material.
//!
//! They weaken the wall and show, so there are none unless they are asked for, and none at all from
//! the top edge. Distances without a source are common practice, no source.

use flatten::cuts::{CutError, CutOptions, Goal, Judged, KeptClear, Lips, suggest};
use flatten::{Material, Options};
use geometry::mesh::TriMesh;
use geometry::surface::Closest;
use geometry::warned::Warning;
use glam::DVec2;

use super::Stiffener;
use super::brief::{Brief, Kind};
use super::margin::{FULL_FROM_END, LowerEdge};
use super::shape::Shape;
use super::wall::{self, LINE_PARTS, Wall, WallError};
use crate::foot::Side;

/// Least distance of a cut from the centre back and from other cuts, mm: the back seam presses
/// there, and a narrower tongue of wall bends instead of holding.
pub const APART: f64 = 8.0;

/// Least distance of the point of a cut from the top edge, mm: it stays out of the skive, and the
/// edge in one.
pub const BELOW_TOP: f64 = 12.0;

/// A cut stays this far behind where the margin has its full width, mm: its V runs on through it.
const BEHIND_RUN_OUT: f64 = 5.0;

/// What was gained by cuts in the wall.
#[derive(Debug, Clone, PartialEq)]
pub struct WallCuts {
    /// Whose limits the strain is held against.
    pub material: Material,
    /// What was asked for.
    pub goal: Goal,
    /// The strain without any cut.
    pub without: Judged,
    /// The strain of the piece.
    pub with: Judged,
    /// The same, percent: mean and 95 % of the area, without cuts and with them.
    pub strain: [[f64; 2]; 2],
    /// Whether the goal is met.
    pub met: bool,
}

/// A cut as a ruler reads it on the finished piece, and on the bare last.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WallCut {
    /// The side it is on.
    pub side: Side,
    /// From the seat along the feather line, on the bare last, mm.
    pub along: f64,
    /// Where its sides meet the feather line on the flat piece, left and right.
    pub mouth: [DVec2; 2],
    /// Its point.
    pub point: DVec2,
    /// Its length over the bare last, mm.
    pub on_last: f64,
    /// Lengths of its sides up from the feather line, on the flat piece, mm.
    pub flanks: [f64; 2],
    /// How far the sides as laid flat lie from the straight ones that are drawn, at most, mm.
    pub bow: f64,
}

impl WallCut {
    /// Up from the feather line to the point, along its longer side, mm.
    pub fn depth(&self) -> f64 {
        self.flanks[0].max(self.flanks[1])
    }

    /// How wide it opens at the feather line on the flat piece, mm.
    pub fn opening(&self) -> f64 {
        self.mouth[0].distance(self.mouth[1])
    }
}

/// Makes the cuts that `brief` allows and the material needs, and lays the wall flat as a sheet of
/// that material. Where none are allowed the wall comes back as it is.
///
/// # Errors
/// When the wall cannot be laid flat.
pub fn make(wall: Wall, brief: &Brief) -> Result<(Wall, Option<WallCuts>), WallError> {
    let Some(material) = brief.kind.material().filter(|_| may_be_cut(brief.kind)) else {
        return Ok((wall, None));
    };
    let edge = between_run_outs(&wall);
    if brief.wall_cuts == 0 || edge.len() < 3 {
        return Ok((wall, None));
    }
    let shape = wall.shape();
    let line = |chain: &[u32], distance: f64| KeptClear {
        line: chain.iter().map(|v| wall.neutral.positions[*v as usize]).collect(),
        distance,
    };
    let options = CutOptions {
        apart: APART,
        clear: vec![line(&wall.centre_back, APART), line(&wall.free_edge, BELOW_TOP)],
        // Where the sides would overlap a cut opens when lasted: it takes away no strain of a heel.
        slits_only: true,
        layout: Options { material: Some(material.clone()), ..wall::held(&shape) },
        goal: Goal::within(&material),
        ..CutOptions::new(edge, brief.wall_cuts, brief.wall_cut_depth)
    };
    let found = suggest(&wall.neutral, &options, &mut |_| ()).map_err(|error| match error {
        CutError::Flatten(error) => WallError::Flatten(error),
        CutError::Adjacency(error) => WallError::Surface(error),
        other => WallError::Cuts(other),
    })?;
    let both = |s: &flatten::Strain| [s.mean, s.p95];
    let told = WallCuts {
        material,
        goal: options.goal,
        without: found.judged_uncut,
        with: found.judged_cut,
        strain: [both(&found.uncut.strain), both(&found.cut.strain)],
        met: found.met,
    };
    let lips: Vec<Lips> = found.cuts.into_iter().map(|cut| cut.lips).collect();
    let shape = Shape {
        on_last: on_last(&wall, &found.mesh),
        feather: parted(&wall, &found.mesh, &lips),
        ..shape
    };
    let cut = Wall::new(shape, found.mesh, found.cut)?;
    Ok((Wall { cuts: lips, warnings: wall.warnings, ..cut }, Some(told)))
}

/// Leather takes the form of the heel by itself, and what is moulded has it.
const fn may_be_cut(kind: Kind) -> bool {
    matches!(kind, Kind::Fibreboard | Kind::Thermoplastic)
}

/// Says so where cuts are allowed that are never made.
pub fn not_for_this_kind(brief: &Brief) -> Option<Warning> {
    (brief.wall_cuts > 0 && !may_be_cut(brief.kind)).then(|| Warning {
        place: "stiffener.wall_cuts".into(),
        message: format!("a stiffener of {} gets no cuts in the wall", brief.kind.words()),
        hint: "cuts are for fibreboard and thermoplastic; set the kind, or set the cuts to 0"
            .into(),
    })
}

/// The feather edge without what lies near the wing ends, where the margin runs out.
fn between_run_outs(wall: &Wall) -> Vec<u32> {
    let (left, right) = wall.wings();
    let shorter = wall.lengths(left)[1].min(wall.lengths(right)[1]);
    let from_end = FULL_FROM_END.0.min(FULL_FROM_END.1 * shorter) + BEHIND_RUN_OUT;
    let whole = wall.lengths(&wall.feather)[1];
    let mut along = 0.0;
    let mut before = wall.feather.first().copied();
    let far_enough = |v: &&u32| {
        let at = |v: u32| wall.neutral.positions[v as usize];
        along += before.map_or(0.0, |before| at(before).distance(at(**v)));
        before = Some(**v);
        (from_end..=whole - from_end).contains(&along)
    };
    wall.feather.iter().filter(far_enough).copied().collect()
}

/// The cut mesh on the bare last: what lies on a triangle where the piece lies, lies on the same
/// triangle there.
fn on_last(wall: &Wall, cut: &TriMesh) -> TriMesh {
    let known = wall.neutral.positions.len();
    let closest = Closest::new(&wall.neutral);
    let mut positions = wall.on_last.positions.clone();
    positions.extend(cut.positions[known..].iter().map(|place| {
        closest.to(*place, 0.0).map_or(*place, |point| point.position(&wall.on_last))
    }));
    TriMesh { positions, triangles: cut.triangles.clone() }
}

/// The feather edge with both sides of each mouth in it, the left one first.
fn parted(wall: &Wall, cut: &TriMesh, lips: &[Lips]) -> Vec<u32> {
    let place = |v: u32| cut.positions[v as usize];
    let mut chain = wall.feather.clone();
    for lip in lips {
        let (left, right) = (lip.left[0], lip.right[0]);
        let at = chain.iter().position(|v| *v == left).unwrap_or_else(|| {
            let detour = |i: &usize| {
                let (a, b) = (place(chain[i - 1]), place(chain[*i]));
                a.distance(place(left)) + b.distance(place(left)) - a.distance(b)
            };
            let on = (1..chain.len()).min_by(|i, j| detour(i).total_cmp(&detour(j)));
            let at = on.unwrap_or(chain.len());
            chain.insert(at, left);
            at
        });
        chain.insert(at + 1, right);
    }
    chain
}

/// The lower edge of the flat wall, in sections between the cuts, as the margin is drawn to it.
pub fn lower_edge(wall: &Wall) -> LowerEdge {
    let sections = wall.sections();
    let of_seat = |s: &&[u32]| s.iter().position(|v| *v == wall.centre_back[0]);
    let seat = sections.iter().position(|s| of_seat(s).is_some()).unwrap_or(0);
    let in_section = of_seat(&sections[seat]).unwrap_or(0) * LINE_PARTS;
    LowerEdge {
        sections: sections.iter().map(|s| (wall.flat_line(s), wall.line_on_last(s))).collect(),
        seat: (seat, in_section),
        points: wall.cuts.iter().map(|lips| tip(wall, lips)).collect(),
    }
}

fn tip(wall: &Wall, lips: &Lips) -> DVec2 {
    lips.left.last().map_or(DVec2::ZERO, |v| wall.flat[*v as usize])
}

/// The cuts of the finished piece, from left to right.
pub fn measured(piece: &Stiffener) -> Vec<WallCut> {
    let wall = &piece.wall;
    let (left, right) = wall.wings();
    wall.cuts
        .iter()
        .map(|lips| {
            let point = tip(wall, lips);
            let sides = [&lips.left, &lips.right];
            let mouth = sides.map(|side| wall.flat[side[0] as usize]);
            let on_right = right.iter().position(|v| *v == lips.left[0]);
            let on_left = left.iter().position(|v| *v == lips.right[0]);
            let chain = match (on_left, on_right) {
                (_, Some(at)) => &right[..=at],
                (Some(at), None) => &left[at..],
                (None, None) => &left[..1],
            };
            let bow = sides.iter().zip(mouth).flat_map(|(side, mouth)| {
                side.iter().map(move |v| {
                    let along = (point - mouth).normalize_or_zero();
                    along.perp_dot(wall.flat[*v as usize] - mouth).abs()
                })
            });
            let right_side = piece.foot.right_side();
            WallCut {
                side: match (on_right.is_some(), right_side) {
                    (true, side) => side,
                    (false, Side::Medial) => Side::Lateral,
                    (false, Side::Lateral) => Side::Medial,
                },
                along: wall.lengths(chain)[0],
                mouth,
                point,
                on_last: wall.lengths(&lips.left)[0],
                flanks: mouth.map(|m| m.distance(point)),
                bow: bow.fold(0.0, f64::max),
            }
        })
        .collect()
}
