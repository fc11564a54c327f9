//! Walks over a surface in a plane, as a ruler laid square across it does.

use glam::DVec3;

use super::{Surface, SurfacePoint};

/// A plane section, walked one triangle at a time from a starting point.
#[derive(Debug, Clone)]
pub struct Walk<'s, 'm> {
    surface: &'s Surface<'m>,
    origin: DVec3,
    normal: DVec3,
    /// Distance from a vertex below which the walk passes through it, mm.
    snap: f64,
    at: SurfacePoint,
    heading: DVec3,
    /// Triangle just crossed; the walk does not turn back into it.
    crossed: Option<u32>,
    came_from: Option<SurfacePoint>,
    walked: f64,
    /// How far a way is followed before it is judged at the start, mm.
    look_ahead: f64,
}

/// Vertices nearer to the plane than this, mm, lie in it: far above rounding, far below any
/// scan's detail.
const IN_PLANE: f64 = 1e-9;

/// Where a walk has come to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Step {
    /// The point reached.
    pub at: SurfacePoint,
    /// Its place in space.
    pub place: DVec3,
    /// Length walked so far, mm.
    pub walked: f64,
    /// The triangle crossed to come here.
    pub face: u32,
}

/// Why a walk ended early.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum WalkError {
    /// The edge of the surface was reached.
    #[error("the surface ends after {walked:.1} mm, {asked:.1} mm were asked for")]
    SurfaceEnds {
        /// Length walked, mm.
        walked: f64,
        /// Length asked for, mm.
        asked: f64,
    },
}

impl<'s, 'm> Walk<'s, 'm> {
    /// A walk from `start` in the plane through it with normal `normal`, setting out in the
    /// direction nearest to `heading`. Within `snap` mm of a vertex it goes through the vertex.
    pub fn new(
        surface: &'s Surface<'m>,
        start: SurfacePoint,
        normal: DVec3,
        heading: DVec3,
        snap: f64,
    ) -> Self {
        let origin = start.position(surface.mesh);
        Self {
            surface,
            origin,
            normal: normal.normalize_or_zero(),
            snap,
            at: start,
            heading,
            crossed: None,
            came_from: None,
            walked: 0.0,
            look_ahead: 0.0,
        }
    }

    /// The same walk, but at the start a way counts as leading to where it is `look_ahead` mm on:
    /// where slivers are folded over, the first step says nothing of the way.
    #[must_use]
    pub fn looking_ahead(self, look_ahead: f64) -> Self {
        Self { look_ahead, ..self }
    }

    /// The point `length` mm on from the start, along the surface.
    ///
    /// # Errors
    /// When the surface ends before.
    pub fn point_at(&mut self, length: f64) -> Result<SurfacePoint, WalkError> {
        if length <= self.walked {
            return Ok(self.at);
        }
        loop {
            let (from, before) = (self.at.position(self.surface.mesh), self.walked);
            let Some(step) = self.next() else {
                return Err(WalkError::SurfaceEnds { walked: self.walked, asked: length });
            };
            if step.walked >= length {
                let share = (length - before) / (step.walked - before);
                return Ok(self.within(&step, from, share));
            }
        }
    }

    /// Where the walk now is, mm.
    pub fn place(&self) -> DVec3 {
        self.at.position(self.surface.mesh)
    }

    /// The point at `share` of the way that `step` made from `from`.
    pub fn within(&self, step: &Step, from: DVec3, share: f64) -> SurfacePoint {
        let mesh = self.surface.mesh;
        let weights = barycentric(mesh.corners(step.face), from.lerp(step.place, share));
        SurfacePoint::in_face(mesh, step.face, weights, 1e-12)
    }

    fn distance(&self, vertex: u32) -> f64 {
        (self.surface.mesh.positions[vertex as usize] - self.origin).dot(self.normal)
    }

    /// The point where the plane leaves `face` across the side from `a` to `b`, if it does.
    fn exit(&self, a: u32, b: u32) -> Option<SurfacePoint> {
        let (da, db) = (self.distance(a), self.distance(b));
        if (da > 0.0) == (db > 0.0) {
            return None;
        }
        let length = self.surface.mesh.positions[a as usize]
            .distance(self.surface.mesh.positions[b as usize]);
        let snap = if length > 0.0 { (self.snap / length).clamp(1e-12, 0.5) } else { 0.5 };
        Some(SurfacePoint::on_edge(a, b, da / (da - db), snap))
    }

    /// Ways out of `face` for a walk that stands at `self.at`.
    fn exits(&self, face: u32) -> impl Iterator<Item = SurfacePoint> {
        let t = self.surface.mesh.triangles[face as usize];
        let crossings = (0..3)
            .map(move |k| (t[k], t[(k + 1) % 3]))
            .filter(|(a, b)| match self.at {
                SurfacePoint::Vertex(v) => *a != v && *b != v,
                SurfacePoint::Edge { ends, .. } => !(ends.contains(a) && ends.contains(b)),
                SurfacePoint::Face { .. } => true,
            })
            .filter_map(|(a, b)| self.exit(a, b));
        // A side that lies in the plane is not crossed by it; its ends are ways out all the same.
        let in_plane = t
            .into_iter()
            .filter(|v| self.at != SurfacePoint::Vertex(*v))
            .filter(|v| self.distance(*v).abs() <= self.snap.max(IN_PLANE))
            .map(SurfacePoint::Vertex);
        crossings.chain(in_plane)
    }

    /// The steps that can be made from here without turning back.
    fn ways(&self) -> impl Iterator<Item = Step> {
        let mesh = self.surface.mesh;
        let here = self.at.position(mesh);
        let may_return = matches!(self.at, SurfacePoint::Vertex(_));
        let on = move |face: &u32| may_return || Some(*face) != self.crossed;
        self.surface.faces_at(&self.at).into_iter().filter(on).flat_map(move |face| {
            self.exits(face).filter(|e| Some(*e) != self.came_from).map(move |at| {
                let place = at.position(mesh);
                Step { at, place, walked: self.walked + here.distance(place), face }
            })
        })
    }

    /// Whether a step was made.
    fn has_set_out(&self) -> bool {
        self.crossed.is_some()
    }

    fn go(&mut self, step: &Step) {
        self.heading = (step.place - self.at.position(self.surface.mesh)).normalize_or_zero();
        self.came_from = Some(self.at);
        self.at = step.at;
        self.walked = step.walked;
        self.crossed = Some(step.face);
    }

    /// Where the walk is after `step`, and at the start as far on as it looks ahead.
    fn leads_to(&self, step: &Step) -> DVec3 {
        let mut place = step.place;
        if !self.has_set_out() && step.walked < self.look_ahead {
            let mut scout = self.clone();
            scout.go(step);
            while scout.walked < self.look_ahead
                && let Some(next) = scout.next()
            {
                place = next.place;
            }
        }
        place
    }
}

impl Iterator for Walk<'_, '_> {
    type Item = Step;

    fn next(&mut self) -> Option<Step> {
        let here = self.at.position(self.surface.mesh);
        let mut best: Option<(f64, Step)> = None;
        for step in self.ways() {
            let along = (self.leads_to(&step) - here).normalize_or_zero().dot(self.heading);
            let allowed = self.has_set_out() || along > 0.0;
            if allowed && best.as_ref().is_none_or(|(most, _)| along > *most + 1e-9) {
                best = Some((along, step));
            }
        }
        let (_, step) = best?;
        self.go(&step);
        Some(step)
    }
}

/// Barycentric weights of the point nearest to `place` in the plane of the triangle.
pub(super) fn barycentric([a, b, c]: [DVec3; 3], place: DVec3) -> [f64; 3] {
    let n = (b - a).cross(c - a);
    let whole = n.length_squared();
    if whole == 0.0 {
        return [1.0, 0.0, 0.0];
    }
    let u = (c - b).cross(place - b).dot(n) / whole;
    let v = (a - c).cross(place - c).dot(n) / whole;
    [u, v, 1.0 - u - v]
}
