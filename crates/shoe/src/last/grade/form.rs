//! The family of forms that a last belongs to: where each point of it lies in another size.
//!
//! A point is told by where it lies along (in standard last lengths, the extension of the toe
//! apart), across (y), and above a smooth line through the feather line. None of the three
//! depends on the size, so every size is reached from every other.

use glam::DVec3;

use super::super::fit::{add, solved};
use super::super::stand::Last;

/// Terms of the polynomial that follows the feather line from the side: an arch, a tread and a
/// toe that rises take six.
const POLYNOMIAL: usize = 8;
/// All terms of that line: what heel height and toe spring do to it are two more, so that the
/// line of a last whose tread was lowered is the line lowered.
const TERMS: usize = POLYNOMIAL + 2;

/// The toe's extension lies in front of the joints; it begins this far in front of the foremost
/// joint, in standard last lengths.
const AHEAD_OF_JOINT: f64 = 0.03;

/// The tread is carried between these parts of the feather line's length, as in standing.
const TREAD_WITHIN: (f64, f64) = (0.5, 0.9);

/// The heel breast, in standard last lengths from the seat (published: SLL / 4).
const BREAST: f64 = 0.25;

/// Heights above this share of the top's height slow down when the top stays.
const BELOW_TOP: f64 = 0.7;

/// A size of the family.
#[derive(Debug, Clone, Copy)]
pub(super) struct Shape {
    pub(super) standard_last_length: f64,
    /// Heights above the bottom, times the base's.
    pub(super) higher: f64,
    pub(super) top_kept: bool,
    /// Logarithms of the widths at ball, waist and instep, times the base's.
    pub(super) wider: [f64; 3],
    /// How far the tread is lowered against the seat, mm.
    pub(super) tread_lowered: f64,
    /// How far the toe is raised against the tread, mm.
    pub(super) toe_raised: f64,
}

/// A point of the last, told without its size.
#[derive(Debug, Clone, Copy)]
struct Place {
    /// Along, in standard last lengths from the seat.
    along: f64,
    y: f64,
    /// Height of the bottom's line here, mm.
    bottom: f64,
    /// Height above that line, mm.
    above: f64,
}

/// The base as one of its family.
#[derive(Debug, Clone)]
pub(super) struct Form {
    standard_last_length: f64,
    extension: f64,
    /// Where the extension begins and ends, along.
    toe: (f64, f64),
    /// Where the feather line ends, along.
    feather_end: f64,
    /// Where the middle between the joints, the waist and the instep lie, along.
    stations: [f64; 3],
    bottom: [f64; TERMS],
    /// The rear and the front end of the top.
    top: [Place; 2],
    vertices: Vec<Place>,
    /// Vertices of the bottom that may carry the tread.
    pub(super) tread: Vec<u32>,
    /// What the ground lies below the lowest of them, mm.
    pub(super) ground_below: f64,
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
        let joint = |at: DVec3| at.x / sll;
        let (medial, lateral) = (joint(marks.joint_medial.at), joint(marks.joint_lateral.at));
        let end = 1.0 + low.x / sll;
        let start = (medial.max(lateral) + AHEAD_OF_JOINT).min(end - 0.1);
        let mut form = Self {
            standard_last_length: sll,
            extension: high.x - low.x - sll,
            toe: (start, end),
            feather_end: 0.0,
            stations: [0.0; 3],
            bottom: [0.0; TERMS],
            top: [Place { along: 0.0, y: 0.0, bottom: 0.0, above: 0.0 }; 2],
            vertices: Vec::new(),
            tread: Vec::new(),
            ground_below: 0.0,
        };
        form.feather_end = form.along(marks.toe.at.x);
        form.stations =
            [(medial + lateral) / 2.0, form.along(marks.waist.at.x), form.along(marks.instep.at.x)];
        form.bottom = form.bottom_along(&marks.feather_line.points)?;
        form.vertices = last.mesh.positions.iter().map(|p| form.place(*p)).collect();
        form.top = [marks.top_back.at, marks.top_front.at].map(|p| form.place(p));
        let (from, to) = TREAD_WITHIN;
        let reach = marks.toe.at.x;
        let positions = &last.mesh.positions;
        let within = |p: &DVec3| (from * reach..to * reach).contains(&p.x);
        let lowest =
            positions.iter().filter(|p| within(p)).map(|p| p.z).fold(f64::INFINITY, f64::min);
        // Whatever may come to lie lowest when the tread bends.
        let near = 0.02 * sll;
        form.tread = (0..positions.len() as u32)
            .filter(|v| within(&positions[*v as usize]) && positions[*v as usize].z < lowest + near)
            .collect();
        form.ground_below = last.ground - lowest;
        Some(form)
    }

    /// The base moved to `shape`.
    pub(super) fn at(&self, shape: &Shape) -> Moved<'_> {
        Moved { form: self, shape: *shape }
    }

    /// Along, for a place on the base: the x that `x_at` gives back.
    fn along(&self, x: f64) -> f64 {
        let sll = self.standard_last_length;
        let behind = x / sll;
        if behind <= self.toe.0 {
            return behind;
        }
        let front = (x - self.extension) / sll;
        if front >= self.toe.1 {
            return front;
        }
        // It rises steadily: bisection, then Newton's method where that stays inside.
        let (mut low, mut high) = (self.toe.0, self.toe.1);
        let mut along = (low + high) / 2.0;
        for _ in 0..60 {
            let off = self.x_at(along, sll) - x;
            if off > 0.0 {
                high = along
            } else {
                low = along
            }
            let next = along - off / (sll + self.extension * self.toe_slope(along));
            let next = if next > low && next < high { next } else { (low + high) / 2.0 };
            let step = (next - along).abs();
            along = next;
            if step < 1e-15 {
                break;
            }
        }
        along
    }

    /// Where a place along lies on a last of standard length `sll`, mm.
    fn x_at(&self, along: f64, sll: f64) -> f64 {
        sll * along + self.extension * smooth_step(self.toe, along)
    }

    fn toe_slope(&self, along: f64) -> f64 {
        let (from, to) = self.toe;
        let t = ((along - from) / (to - from)).clamp(0.0, 1.0);
        30.0 * t * t * (1.0 - t) * (1.0 - t) / (to - from)
    }

    /// The polynomial in `along` nearest to the heights of the feather line.
    fn bottom_along(&self, line: &[DVec3]) -> Option<[f64; TERMS]> {
        let n = line.len();
        let mut sums = [[0.0; TERMS + 1]; TERMS];
        for i in 0..n {
            let [before, at, after] = [i + n - 1, i, i + 1].map(|k| self.along(line[k % n].x));
            // Nothing that differs between sizes may count here.
            let stretch = (at - before).abs() + (after - at).abs();
            add(&mut sums, self.terms(at), line[i].z, stretch);
        }
        let mut bottom = solved(sums)?;
        // The seat is the origin in every size.
        let at_seat: f64 = self.terms(0.0).iter().zip(&bottom).map(|(t, b)| t * b).sum();
        bottom[0] -= at_seat;
        Some(bottom)
    }

    /// Chebyshev's polynomials over the length of the feather line, which beyond its ends go
    /// straight on; then [`Form::lowered`] and [`Form::raised`].
    fn terms(&self, along: f64) -> [f64; TERMS] {
        let t = 2.0 * along / self.feather_end - 1.0;
        let inside = t.clamp(-1.0, 1.0);
        let mut terms = [1.0; TERMS];
        terms[1] = inside;
        for k in 2..POLYNOMIAL {
            terms[k] = 2.0 * inside * terms[k - 1] - terms[k - 2];
        }
        if t != inside {
            for (k, term) in terms[..POLYNOMIAL].iter_mut().enumerate() {
                // The slope of the k-th is k² at the front end, and of changing sign at the rear.
                let sign = if inside < 0.0 && k % 2 == 0 { -1.0 } else { 1.0 };
                *term += sign * (k * k) as f64 * (t - inside);
            }
        }
        terms[POLYNOMIAL] = self.lowered(along);
        terms[POLYNOMIAL + 1] = self.raised(along);
        terms
    }

    fn place(&self, p: DVec3) -> Place {
        let along = self.along(p.x);
        let bottom = self.terms(along).iter().zip(&self.bottom).map(|(t, b)| t * b).sum::<f64>();
        Place { along, y: p.y, bottom, above: p.z - bottom }
    }

    /// What ball, waist and instep count for in the widths at a place along; together one.
    fn shares(&self, along: f64) -> [f64; 3] {
        let [_, waist, instep] = self.stations;
        let apart = (waist - instep).abs().max(0.03);
        // From one mark to the other, and as far again to either side.
        let hump = |at: f64| {
            let t = ((along - at) / (1.5 * apart)).abs().min(1.0);
            (1.0 - t * t).powi(3)
        };
        let (w, i) = (hump(waist), hump(instep));
        let sum = (w + i).max(1.0);
        [1.0 - (w + i) / sum, w / sum, i / sum]
    }

    /// How far the bottom goes with a change of heel height, at a place along: from nothing up to
    /// the heel breast to all from the joints on, so that the heel keeps its pitch.
    fn lowered(&self, along: f64) -> f64 {
        smooth_step((BREAST, self.stations[0]), along)
    }

    /// How far the toe goes with a change of toe spring.
    fn raised(&self, along: f64) -> f64 {
        let joints = self.stations[0];
        let t = ((along - joints) / (self.feather_end - joints)).max(0.0);
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
        self.moved(&self.form.place(p))
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
        let wider: f64 =
            form.shares(along).iter().zip(shape.wider).map(|(share, wide)| share * wide).sum();
        let above = if shape.top_kept {
            form.under_top(place, shape.higher)
        } else {
            place.above * shape.higher
        };
        let bottom = place.bottom - shape.tread_lowered * form.lowered(along)
            + shape.toe_raised * form.raised(along);
        let x = form.x_at(along, shape.standard_last_length);
        DVec3::new(x, place.y * wider.exp(), bottom + above)
    }
}

/// From 0 before the range to 1 behind it, with two even derivatives.
fn smooth_step((from, to): (f64, f64), at: f64) -> f64 {
    let t = ((at - from) / (to - from)).clamp(0.0, 1.0);
    t * t * t * (10.0 + t * (6.0 * t - 15.0))
}
