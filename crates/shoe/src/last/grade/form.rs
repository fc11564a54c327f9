//! The family of forms that a last belongs to: where each point of it lies in another size.
//!
//! What a [`Place`] tells of a point does not depend on the size, so every size is reached
//! from every other.

use glam::DVec3;

use super::super::level::TREAD_WITHIN;
use super::super::marks::{Mark, Source};
use super::super::place::{Axis, Bottom, Place, hump, place, smooth_step};
use super::super::ridge::{INSTEP_ABOUT, WAIST_ABOUT};
use super::super::stand::{BREAST, Last};

/// Nearer than this to each other, along, waist and instep cannot be told apart: 8 mm.
const LEAST_APART: f64 = 0.03;

/// Heights above this share of the top's height slow down when the top stays.
const BELOW_TOP: f64 = 0.7;

/// A size of the family.
#[derive(Debug, Clone, Copy)]
pub(super) struct Shape {
    pub(super) standard_last_length: f64,
    /// Heights above the bottom, times the base's.
    pub(super) higher: f64,
    pub(super) top_kept: bool,
    /// Logarithms: of the widths, times the base's; of the heights at waist and instep, times those
    /// that the rest has.
    pub(super) fuller: [f64; 3],
    /// How far the tread is lowered against the seat, mm.
    pub(super) tread_lowered: f64,
    /// How far the toe is raised against the tread, mm.
    pub(super) toe_raised: f64,
}

/// The base as one of its family.
#[derive(Debug, Clone)]
pub(super) struct Form {
    axis: Axis,
    bottom: Bottom,
    /// The middle between the joints, along.
    joints: f64,
    /// The waist and the instep, along.
    waist: f64,
    instep: f64,
    /// How far the fuller or flatter instep reaches back, along: not to the top.
    behind_instep: f64,
    /// The rear and the front end of the top.
    top: [Place; 2],
    vertices: Vec<Place>,
    /// Vertices of the bottom that may carry the tread.
    tread: Vec<u32>,
    /// What the ground lies below the lowest of them, mm.
    ground_below: f64,
}

/// A size worked out: moves points of the base.
pub(super) struct Moved<'a> {
    form: &'a Form,
    shape: Shape,
}

impl Form {
    /// `None` where the feather line does not reach from heel to toe.
    pub(super) fn new(last: &Last) -> Option<Self> {
        let sll = last.standard_last_length;
        let (low, high) = last.mesh.bounds()?;
        let marks = &last.marks;
        let axis = Axis::new(sll, [low.x, high.x], marks);
        let bottom = Bottom::new(&axis, marks)?;
        let along = |mark: Mark<DVec3>| axis.along(mark.at.x);
        let joints = (along(marks.joint_medial) + along(marks.joint_lateral)) / 2.0;
        // About where the rule finds them. The rule itself goes along the slope of the ridge, which
        // is another in every size; a family needs one place.
        let fullest = |mark: Mark<DVec3>, share: f64| match mark.source {
            Source::User => along(mark),
            Source::Found => share * joints,
        };
        let waist = fullest(marks.waist, WAIST_ABOUT);
        let instep = fullest(marks.instep, INSTEP_ABOUT);
        let room = instep - along(marks.top_front);

        let reach = marks.toe.at.x;
        let positions = &last.mesh.positions;
        let within = |p: &DVec3| (TREAD_WITHIN.0 * reach..TREAD_WITHIN.1 * reach).contains(&p.x);
        let heights = positions.iter().filter(|p| within(p)).map(|p| p.z);
        let lowest = heights.fold(f64::INFINITY, f64::min);
        // Whatever may come to lie lowest when the tread bends.
        let near = lowest + 0.02 * sll;
        let carries = |p: &DVec3| within(p) && p.z < near;
        Some(Self {
            joints,
            waist,
            instep,
            behind_instep: room.clamp(LEAST_APART, 1.5 * apart(waist, instep)),
            top: [marks.top_back.at, marks.top_front.at].map(|p| place(&axis, &bottom, p)),
            vertices: positions.iter().map(|p| place(&axis, &bottom, *p)).collect(),
            tread: (0..positions.len() as u32)
                .filter(|v| carries(&positions[*v as usize]))
                .collect(),
            ground_below: last.ground - lowest,
            axis,
            bottom,
        })
    }

    /// The base moved to `shape`.
    pub(super) fn at(&self, shape: &Shape) -> Moved<'_> {
        Moved { form: self, shape: *shape }
    }

    /// How much fuller than the rest the upper side is at a place along, as a logarithm. Widths
    /// are the same all along instead, so that the widest places stay the widest.
    fn fuller(&self, along: f64, [_, at_waist, at_instep]: [f64; 3]) -> f64 {
        let reach = 1.5 * apart(self.waist, self.instep);
        let fuller = |from: f64, behind: f64| {
            let reach = if along < from { behind } else { reach };
            hump((along - from) / reach)
        };
        at_waist * fuller(self.waist, reach) + at_instep * fuller(self.instep, self.behind_instep)
    }

    /// How far the bottom goes with a change of heel height, at a place along: from nothing up to
    /// the heel breast to all from the joints on, so that the heel keeps its pitch.
    fn lowered(&self, along: f64) -> f64 {
        smooth_step((BREAST, self.joints), along)
    }

    /// How far the toe goes with a change of toe spring.
    fn raised(&self, along: f64) -> f64 {
        let t = ((along - self.joints) / (self.bottom.end - self.joints)).max(0.0);
        t * t * t
    }

    /// A height above the bottom when heights grow `higher` times and the top stays: slower and
    /// slower towards the top, as points on a stream, so that growing twice is growing once.
    fn under_top(&self, place: &Place, higher: f64) -> f64 {
        const STEPS: usize = 24;
        let above = place.above;
        // Heights of the top above the bottom, which is no plane where the bottom is none, but
        // stays as it is.
        let [back, front] = &self.top;
        let share = (place.along - back.along) / (front.along - back.along).max(0.05);
        let top = back.above + (front.above - back.above) * share.max(-0.5);
        let share = |t: f64| 1.0 - smooth_step((BELOW_TOP, 1.0), t);
        // Within the free part all grows alike.
        if above.max(above * higher) <= BELOW_TOP * top {
            return above * higher;
        }
        let dt = higher.ln() / STEPS as f64;
        let rate = |t: f64| t * share(t);
        let mut t = above / top;
        for _ in 0..STEPS {
            // Runge and Kutta's step of the fourth order.
            let a = rate(t);
            let b = rate(t + dt * a / 2.0);
            let c = rate(t + dt * b / 2.0);
            let d = rate(t + dt * c);
            t += dt * (a + 2.0 * b + 2.0 * c + d) / 6.0;
        }
        t * top
    }
}

impl Moved<'_> {
    /// A vertex of the base.
    pub(super) fn vertex(&self, v: usize) -> DVec3 {
        self.moved(&self.form.vertices[v])
    }

    /// Any point of the base, in its last frame.
    pub(super) fn point(&self, p: DVec3) -> DVec3 {
        self.moved(&place(&self.form.axis, &self.form.bottom, p))
    }

    /// How many vertices the base has.
    pub(super) fn count(&self) -> usize {
        self.form.vertices.len()
    }

    /// The standard last length.
    pub(super) fn standard_last_length(&self) -> f64 {
        self.shape.standard_last_length
    }

    /// The ground of the moved last.
    pub(super) fn ground(&self) -> f64 {
        let z = |v: &u32| self.vertex(*v as usize).z;
        self.form.tread.iter().map(z).fold(f64::INFINITY, f64::min) + self.form.ground_below
    }

    fn moved(&self, place: &Place) -> DVec3 {
        let (form, shape) = (self.form, &self.shape);
        let along = place.along;
        let higher = shape.higher * form.fuller(along, shape.fuller).exp();
        let above =
            if shape.top_kept { form.under_top(place, higher) } else { place.above * higher };
        let bottom = place.bottom - shape.tread_lowered * form.lowered(along)
            + shape.toe_raised * form.raised(along);
        let x = form.axis.x_at(along, shape.standard_last_length);
        DVec3::new(x, place.y * shape.fuller[0].exp(), bottom + above)
    }
}

/// How far waist and instep lie apart, along.
fn apart(waist: f64, instep: f64) -> f64 {
    (waist - instep).abs().max(LEAST_APART)
}
