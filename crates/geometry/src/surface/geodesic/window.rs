//! Windows: parts of an edge that one source sees straight through a strip of triangles.

use glam::DVec2;

use super::unfold::Laid;
use crate::mesh::adjacency::Side;

/// What the rays of a window come from, in the frame of its side: the side runs from the origin
/// along x, the triangle to be entered lies above, the source below.
#[derive(Debug, Clone, Copy)]
pub(super) enum Rays {
    /// From a point.
    From(DVec2),
    /// From a straight line, square to it: their direction, and the distance at the origin, mm.
    Square(DVec2, f64),
}

/// A part of a side that is reached straight from a source.
#[derive(Debug, Clone, Copy)]
pub(super) struct Window {
    /// The side, of the triangle that is entered.
    pub(super) side: Side,
    /// The part of the side, mm from its first corner.
    pub(super) part: [f64; 2],
    pub(super) rays: Rays,
    /// Distance of the source itself, mm.
    pub(super) before: f64,
    /// The window it came through.
    pub(super) parent: Option<u32>,
    /// Number of the source.
    pub(super) root: u32,
}

/// What a window sees beyond the triangle it enters.
#[derive(Debug, Clone, Copy)]
pub(super) struct Seen {
    /// The far corner, where the ray to it enters the side, mm; when it is seen.
    pub(super) corner: Option<f64>,
    /// The part of the side from the first corner to the far one, mm from the first.
    pub(super) left: Option<[f64; 2]>,
    /// The part of the side from the far corner to the second one, mm from the far one.
    pub(super) right: Option<[f64; 2]>,
}

/// A corner this little outside a window, as an angle in radians, is taken to be seen: two
/// windows that meet at it must not both miss it.
const ON_RAY: f64 = 1e-11;

/// Parts of a side shorter than this share of it are left out.
const NOTHING: f64 = 1e-12;

impl Rays {
    fn direction(&self, x: f64) -> DVec2 {
        match *self {
            Rays::From(source) => DVec2::new(x, 0.0) - source,
            Rays::Square(direction, _) => direction,
        }
    }

    /// Straight distance to a point that a ray reaches, mm.
    fn distance(&self, place: DVec2) -> f64 {
        match *self {
            Rays::From(source) => source.distance(place),
            Rays::Square(direction, at_origin) => at_origin + direction.dot(place),
        }
    }

    /// Where the ray to a point above the side passes the side, mm.
    fn entry(&self, place: DVec2) -> f64 {
        match *self {
            Rays::From(source) => {
                let rise = place.y - source.y;
                if rise <= 0.0 {
                    return place.x;
                }
                source.x + (place.x - source.x) * (-source.y / rise)
            }
            Rays::Square(direction, _) if direction.y > 0.0 => {
                place.x - direction.x / direction.y * place.y
            }
            Rays::Square(..) => place.x,
        }
    }

    /// The same rays in a frame at `origin` with x along the unit vector `along`.
    pub(super) fn seen_from(&self, origin: DVec2, along: DVec2) -> Self {
        let turned = |v: DVec2| DVec2::new(along.dot(v), along.perp_dot(v));
        match *self {
            Rays::From(source) => Rays::From(turned(source - origin)),
            Rays::Square(direction, at_origin) => {
                Rays::Square(turned(direction), at_origin + direction.dot(origin))
            }
        }
    }
}

impl Window {
    /// Distance from the sources to a place on or above the side, mm: straight where a ray of the
    /// window reaches it, else round the nearer end of the window; and whether it is straight.
    pub(super) fn distance(&self, place: DVec2) -> (f64, bool) {
        let entry = self.rays.entry(place).clamp(self.part[0], self.part[1]);
        let on_side = DVec2::new(entry, 0.0);
        let [from, to] = self.part;
        if entry > from && entry < to {
            return (self.before + self.rays.distance(place), true);
        }
        let round = self.rays.distance(on_side) + on_side.distance(place);
        (self.before + round, false)
    }

    /// The least distance of any of its points, mm.
    pub(super) fn least(&self) -> f64 {
        let [from, to] = self.part;
        let at = |x: f64| self.rays.distance(DVec2::new(x, 0.0));
        let least = match self.rays {
            Rays::From(source) => at(source.x.clamp(from, to)),
            Rays::Square(..) => at(from).min(at(to)),
        };
        self.before + least
    }

    /// Whether its points are reached at least as soon through one of the two ends of its side,
    /// whose distances are given (S.-Q. Xin and G.-J. Wang 2009).
    pub(super) fn overtaken(&self, length: f64, ends: [f64; 2]) -> bool {
        let [from, to] = self.part;
        let at = |x: f64| self.before + self.rays.distance(DVec2::new(x, 0.0));
        ends[0] + to <= at(to) || ends[1] + (length - from) <= at(from)
    }

    /// What it sees across the triangle.
    pub(super) fn seen(&self, laid: Laid) -> Seen {
        let corner = laid.apex;
        let [from, to] = self.part;
        let beside = |x: f64| {
            let (ray, reach) = (self.rays.direction(x), corner - DVec2::new(x, 0.0));
            ray.perp_dot(reach) / (ray.length() * reach.length()).max(f64::MIN_POSITIVE)
        };
        // Above zero when the corner lies on the left of the ray.
        let (of_left_ray, of_right_ray) = (beside(from), beside(to));
        let far = DVec2::new(laid.length, 0.0);
        let hit = |x: f64, a: DVec2, b: DVec2| {
            let (ray, side) = (self.rays.direction(x), b - a);
            let share = (DVec2::new(x, 0.0) - a).perp_dot(ray) / side.perp_dot(ray);
            let share = if share.is_finite() { share.clamp(0.0, 1.0) } else { 0.0 };
            share * side.length()
        };
        let on_left = |x: f64| hit(x, DVec2::ZERO, corner);
        let on_right = |x: f64| hit(x, corner, far);
        let (left_side, right_side) = (corner.length(), corner.distance(far));
        let mut seen = Seen { corner: None, left: None, right: None };
        if of_left_ray > ON_RAY {
            seen.right = Some([on_right(from), on_right(to)]);
        } else if of_right_ray < -ON_RAY {
            seen.left = Some([on_left(from), on_left(to)]);
        } else {
            seen.corner = Some(self.rays.entry(corner));
            seen.left = Some([on_left(from), left_side]);
            seen.right = Some([0.0, on_right(to)]);
        }
        seen.left = seen.left.filter(|[a, b]| b - a > NOTHING * left_side);
        seen.right = seen.right.filter(|[a, b]| b - a > NOTHING * right_side);
        seen
    }
}
