//! The wall of the stiffener: drawn on the last, cut out of it, given even triangles without the
//! scan's roughness, moved out to where the piece lies, and laid flat.

use flatten::cuts::{CutError, Lips};
use flatten::{FlattenError, Flattening, HeldLine, Hold, Material, Options};
use geometry::mesh::TriMesh;
use geometry::mesh::adjacency::AdjacencyError;
use geometry::mesh::remesh::{RemeshError, smooth_through};
use geometry::surface::{ImprintError, PatchError, PathError, offset};
use geometry::warned::{Warned, Warning};
use glam::{DVec2, DVec3};

use super::chart::{Chart, ChartError};
use super::edge::TopEdge;
use super::shape::{Bounds, Shape};

/// How long the edges of the wall's own triangles are, mm: about ten thousand triangles for a heel
/// stiffener with long wings. On a bend of 25 mm radius the middle of an edge lies 0.02 mm inside.
pub(super) const WORKING_EDGE: f64 = 2.0;

/// Parts of a line between two vertices: chords of half a millimetre lie within 0.004 mm of a
/// corner of 8 mm radius.
pub const LINE_PARTS: usize = 4;

/// Normals of the wall are averaged over this far, mm: over several triangles of a scan, within
/// a small part of the bend of a heel.
const NORMAL_REACH: f64 = 5.0;

/// The wall is cut out this much wider than the piece, mm, where the last goes so far: more than
/// the normals' reach, so that those at the edge are averaged over both its sides.
const BORDER: f64 = 6.0;

/// Step along the free edge of a wider piece, mm.
const BORDER_STEP: f64 = 2.0;

/// How stiffly the lines that must keep their length do so; see `flatten`.
const HELD_STIFFNESS: f64 = 6e4;

/// How hard the centre back resists bending, mm³; see `flatten`.
const STRAIGHT: f64 = 200.0;

/// A line that may not grow is held to this share of its length, two tenths of a millimetre in
/// 400: what even a stiff hold gives way by.
const NOT_LONGER: f64 = 0.9995;

/// The wall in its three states. All three share vertex numbers and triangles.
#[derive(Debug, Clone)]
pub struct Wall {
    /// On the bare last, last frame, mm.
    pub on_last: TriMesh,
    /// Where the middle of the piece's thickness lies, last frame, mm.
    pub neutral: TriMesh,
    /// Flat, mm: the seat at the origin, the centre back upright, seen from outside.
    pub flat: Vec<DVec2>,
    /// The feather edge as vertices, from the wearer's left wing end to the right one.
    pub feather: Vec<u32>,
    /// The free edge as vertices, from the right wing end over the back to the left one.
    pub free_edge: Vec<u32>,
    /// The centre back as vertices, from the seat up.
    pub centre_back: Vec<u32>,
    /// The two sides of each cut up from the feather edge, which has both their mouths in it.
    pub cuts: Vec<Lips>,
    /// How the flattening went.
    pub strain: flatten::Strain,
    /// Flipped triangles and crossings of the outline: both 0 for a sound piece.
    pub faults: (usize, usize),
    /// How much of a held line's length went into zigzag instead of holding, percent; the most
    /// of the three.
    pub zigzag: f64,
    /// The most by which its triangles on the last lie from those of the scan, to either side, mm.
    pub off_scan: f64,
    /// Places that are bent too tightly for the piece to lie in.
    pub warnings: Vec<Warning>,
}

/// Why there is no wall.
#[derive(Debug, thiserror::Error)]
pub enum WallError {
    /// A place could not be found.
    #[error(transparent)]
    Chart(#[from] ChartError),
    /// The line could not be drawn.
    #[error("the outline of the stiffener could not be drawn on the last")]
    Path(#[from] PathError),
    /// The line could not be cut.
    #[error("the stiffener could not be cut out of the last")]
    Imprint(#[from] ImprintError),
    /// The piece could not be given even triangles.
    #[error("the stiffener could not be divided into even triangles")]
    Remesh(#[from] RemeshError),
    /// The piece could not be lifted.
    #[error("the stiffener could not be lifted off the last")]
    Patch(#[from] PatchError),
    /// The surface is not one.
    #[error("the last's surface is not sound")]
    Surface(#[from] AdjacencyError),
    /// The piece could not be flattened.
    #[error("the stiffener could not be laid flat")]
    Flatten(#[from] FlattenError),
    /// No cuts could be looked for.
    #[error("no cuts could be made in the wall of the stiffener")]
    Cuts(#[from] CutError),
    /// What was laid flat is no piece any more.
    #[error(
        "the stiffener could not be laid flat: its parts would be stretched or shrunk by {mean:.0} % on \
         average; the scan is too rough about the heel, smooth it in the scan program or scan it again"
    )]
    Crumpled {
        /// Mean strain, percent.
        mean: f64,
    },
}

/// A mean strain above this, in percent, no material and no last brings about: real pieces have 1
/// to 5.
const CRUMPLED: f64 = 25.0;

impl Wall {
    /// Draws `edge` on the last, cuts the wall out, moves it `neutral_offset` mm outward and
    /// lays it flat. The feather edge and the centre back keep their lengths on the flat piece
    /// and the top edge does not grow: a longer one would gape.
    ///
    /// The wall has even triangles of its own, so that the scan's do not show in the piece.
    ///
    /// # Errors
    /// When the last has a hole or fold in the way, or no flat piece exists.
    pub fn make(
        chart: &Chart<'_, '_>,
        edge: &TopEdge,
        neutral_offset: f64,
    ) -> Result<Self, WallError> {
        let bounds = bounds(edge);
        let bordered = Shape::cut_out(chart, &bounds, Some(&wider(edge, BORDER)), WORKING_EDGE);
        let shape = bordered.or_else(|_| Shape::cut_out(chart, &bounds, None, WORKING_EDGE))?;
        let Warned { value: neutral, warnings } = neutral(&shape, neutral_offset);
        let (shape, places) = shape.without_border(&neutral.positions)?;
        let neutral = TriMesh { positions: places, triangles: shape.on_last.triangles.clone() };
        let laid = flatten::flatten(&neutral, &held(&shape))?;
        Ok(Self { warnings, ..Self::new(shape, neutral, laid)? })
    }

    /// The wall of which a shape, its neutral surface and the layout of that are known.
    pub(super) fn new(shape: Shape, neutral: TriMesh, laid: Flattening) -> Result<Self, WallError> {
        if laid.strain.mean.is_nan() || laid.strain.mean > CRUMPLED {
            return Err(WallError::Crumpled { mean: laid.strain.mean });
        }
        let Shape { on_last, feather, free_edge, centre_back, off_scan } = shape;
        let flat = upright(&laid.points, &centre_back);
        Ok(Self {
            on_last,
            neutral,
            flat,
            feather,
            free_edge,
            centre_back,
            cuts: Vec::new(),
            faults: (laid.flipped, laid.overlaps),
            zigzag: laid.held.iter().map(|held| held.zigzag).fold(0.0, f64::max),
            strain: laid.strain,
            off_scan,
            warnings: Vec::new(),
        })
    }

    /// The wall as cut out of the last.
    pub(super) fn shape(&self) -> Shape {
        Shape {
            on_last: self.on_last.clone(),
            feather: self.feather.clone(),
            free_edge: self.free_edge.clone(),
            centre_back: self.centre_back.clone(),
            off_scan: self.off_scan,
        }
    }

    /// Length of a chain of vertices on the last, on the neutral surface, and flat, mm, without
    /// the mouths of cuts.
    pub fn lengths(&self, chain: &[u32]) -> [f64; 3] {
        let along = |place: &dyn Fn(u32) -> glam::DVec3| -> f64 {
            chain
                .windows(2)
                .filter(|w| !self.is_mouth(w))
                .map(|w| place(w[0]).distance(place(w[1])))
                .sum()
        };
        [
            along(&|v| self.on_last.positions[v as usize]),
            along(&|v| self.neutral.positions[v as usize]),
            along(&|v| self.flat[v as usize].extend(0.0)),
        ]
    }

    fn is_mouth(&self, pair: &[u32]) -> bool {
        self.cuts.iter().any(|lips| [lips.left[0], lips.right[0]] == pair)
    }

    /// The feather edge between its cuts, from left to right.
    pub fn sections(&self) -> Vec<&[u32]> {
        self.feather.chunk_by(|a, b| !self.is_mouth(&[*a, *b])).collect()
    }

    /// Percent of the area that is stretched or compressed beyond the limits of `material`.
    pub fn area_beyond(&self, material: &Material) -> f64 {
        self.strain.area_over_limit(&self.neutral.face_areas(), material)
    }

    /// The two parts of the feather edge: from the left wing end to the seat, and on to the
    /// right one.
    pub fn wings(&self) -> (&[u32], &[u32]) {
        let seat = self.feather.iter().position(|v| *v == self.centre_back[0]).unwrap_or(0);
        (&self.feather[..=seat], &self.feather[seat..])
    }

    /// The flat line of a chain of vertices: a smooth one through them, with [`LINE_PARTS`] parts
    /// from vertex to vertex.
    pub fn flat_line(&self, chain: &[u32]) -> Vec<DVec2> {
        let points: Vec<DVec3> = chain.iter().map(|v| self.flat[*v as usize].extend(0.0)).collect();
        smooth_through(&points, LINE_PARTS).into_iter().map(DVec3::truncate).collect()
    }

    /// The same line on the last, place for place.
    pub fn line_on_last(&self, chain: &[u32]) -> Vec<DVec3> {
        let points: Vec<DVec3> =
            chain.iter().map(|v| self.on_last.positions[*v as usize]).collect();
        smooth_through(&points, LINE_PARTS)
    }
}

/// What the piece below `edge` covers.
pub(super) fn bounds(edge: &TopEdge) -> Bounds {
    Bounds {
        ends: edge.ends.map(|end| end.along),
        free_edge: edge.free_edge(),
        back: edge.height(0.0) + edge.zero,
    }
}

/// What lies within `beyond` mm of the piece below `edge`, upward and along.
pub(super) fn wider(edge: &TopEdge, beyond: f64) -> Bounds {
    let [left, right] = edge.ends.map(|end| end.along);
    let (left, right) = (left - beyond, right + beyond);
    let high = |along: f64| edge.height(along) + edge.zero + beyond;
    let side = |along: f64| {
        let steps = (high(along) / BORDER_STEP).ceil();
        (0..steps as usize).map(move |i| (along, high(along) * i as f64 / steps))
    };
    let mut free_edge: Vec<(f64, f64)> = side(right).collect();
    // The seat is one of the steps.
    let (first, last) = ((left / BORDER_STEP).ceil() as i64, (right / BORDER_STEP).floor() as i64);
    free_edge.push((right, high(right)));
    let inner = (first..=last).rev().map(|i| i as f64 * BORDER_STEP);
    free_edge.extend(
        inner
            .filter(|a| *a > left + BORDER_STEP / 2.0 && *a < right - BORDER_STEP / 2.0)
            .map(|a| (a, high(a))),
    );
    free_edge.push((left, high(left)));
    let mut down: Vec<(f64, f64)> = side(left).collect();
    down.reverse();
    free_edge.extend(down);
    Bounds { ends: [left, right], free_edge, back: high(0.0) }
}

/// Where the middle of the piece's thickness lies, `distance` mm outside the last.
pub(super) fn neutral(shape: &Shape, distance: f64) -> Warned<TriMesh> {
    let Warned { value, warnings } = offset(&shape.on_last, distance, NORMAL_REACH);
    Warned { value: value.mesh, warnings }
}

/// Lays the wall's triangles flat once more, from scratch.
///
/// # Errors
/// When they cannot be.
pub fn lay_flat(wall: &Wall) -> Result<Flattening, FlattenError> {
    flatten::flatten(&wall.neutral, &held(&wall.shape()))
}

/// The lines of a shape that keep their lengths when it is laid flat.
pub(super) fn held(shape: &Shape) -> Options {
    let line = |vertices: &[u32], hold: Hold, bending: f64| HeldLine {
        vertices: vertices.to_vec(),
        hold,
        share: if hold == Hold::NotLonger { NOT_LONGER } else { 1.0 },
        stiffness: HELD_STIFFNESS,
        bending,
    };
    Options {
        held: vec![
            line(&shape.feather, Hold::Keep, 0.0),
            line(&shape.centre_back, Hold::Keep, STRAIGHT),
            line(&shape.free_edge, Hold::NotLonger, 0.0),
        ],
        ..Options::default()
    }
}

/// Turns and shifts the flat piece so that the centre back as a whole rises from the origin along
/// y: by its two ends alone a hundredth of a millimetre at the top would be three at a wing.
fn upright(points: &[DVec2], centre_back: &[u32]) -> Vec<DVec2> {
    let seat = centre_back.first().map_or(DVec2::ZERO, |v| points[*v as usize]);
    let from_seat = centre_back.iter().map(|v| points[*v as usize] - seat);
    let up = from_seat.map(|d| d * d.length()).sum::<DVec2>().normalize_or(DVec2::Y);
    points
        .iter()
        .map(|p| {
            let d = *p - seat;
            DVec2::new(-up.perp_dot(d), up.dot(d))
        })
        .collect()
}
