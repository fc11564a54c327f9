//! The edge between wall and bottom: the sharp corner, or a ball rolled along inside it.

use glam::{DVec2, DVec3};

use super::BuildError;
use super::form::Form;

/// The edge at one place: where the rounding leaves wall and bottom, and its middle. On a
/// sharp edge all are the corner.
#[derive(Debug, Clone, Copy)]
pub(super) struct Rim {
    /// Parameters of the wall where the rounding begins.
    pub(super) wall: DVec2,
    /// Place in plan on the bottom where it ends.
    pub(super) bottom: DVec2,
    on_wall: DVec3,
    on_bottom: DVec3,
    centre: DVec3,
}

impl Rim {
    /// The edge at angle `theta` with rounding `radius`.
    pub(super) fn new(
        form: &Form,
        theta: f64,
        radius: f64,
        seat_width: f64,
    ) -> Result<Self, BuildError> {
        let corner = form.feather(theta);
        if radius <= 0.0 {
            let (wall, bottom) = (DVec2::new(theta, 0.0), corner.truncate());
            return Ok(Self { wall, bottom, on_wall: corner, on_bottom: corner, centre: corner });
        }
        roll(form, theta, radius).ok_or(BuildError::NoRounding { radius, x: corner.x, seat_width })
    }

    /// A point of the rounding, `share` of the way from the wall (0) to the bottom (1).
    pub(super) fn at(&self, share: f64) -> DVec3 {
        if self.on_wall == self.centre {
            return self.on_wall;
        }
        let (a, b) = (self.on_wall - self.centre, self.on_bottom - self.centre);
        let angle = a.angle_between(b);
        let along = a * ((1.0 - share) * angle).sin() + b * (share * angle).sin();
        self.centre + along / angle.sin()
    }

    /// The point of the feather line.
    pub(super) fn middle(&self) -> DVec3 {
        self.at(0.5)
    }

    /// Length of the rounding across the edge.
    pub(super) fn across(&self) -> f64 {
        if self.on_wall == self.centre {
            return 0.0;
        }
        let (a, b) = (self.on_wall - self.centre, self.on_bottom - self.centre);
        a.length() * a.angle_between(b)
    }
}

/// Unit normal into the last at a point of the wall.
fn into_wall(form: &Form, wall: DVec2) -> DVec3 {
    const H: f64 = 1e-5;
    let at = |du, dv| form.wall(wall.x + du, wall.y + dv);
    // One-sided in t: the wall ends at t = 0.
    let up = at(0.0, 2.0 * H) * -1.0 + at(0.0, H) * 4.0 - at(0.0, 0.0) * 3.0;
    (at(H, 0.0) - at(-H, 0.0)).cross(up).normalize()
}

/// Unit normal into the last at a point of the bottom.
fn into_bottom(form: &Form, plan: DVec2) -> DVec3 {
    const H: f64 = 1e-3;
    let at = |dx, dy| form.bottom(plan + DVec2::new(dx, dy));
    (at(H, 0.0) - at(-H, 0.0)).cross(at(0.0, H) - at(0.0, -H)).normalize()
}

/// Newton's method for the ball that touches wall and bottom, its centre in the plane square
/// to the corner at `theta`.
fn roll(form: &Form, theta: f64, radius: f64) -> Option<Rim> {
    let corner = form.feather(theta);
    let along = (form.feather(theta + 1e-4) - form.feather(theta - 1e-4)).normalize();
    let outward = DVec2::new(along.y, -along.x).normalize();
    let miss = |v: [f64; 4]| {
        let (wall, plan) = (DVec2::new(v[0], v[1]), DVec2::new(v[2], v[3]));
        let from_wall = form.wall(wall.x, wall.y) + into_wall(form, wall) * radius;
        let gap = from_wall - form.bottom(plan) - into_bottom(form, plan) * radius;
        [gap.x, gap.y, gap.z, along.dot(from_wall - corner)]
    };
    let plan = corner.truncate() - outward * (0.8 * radius);
    // The wall is about as high as the top.
    let mut v = [theta, 0.6 * radius / form.top_height(), plan.x, plan.y];
    for _ in 0..30 {
        let now = miss(v);
        if now.iter().all(|m| m.abs() < 1e-7) {
            let centre = form.bottom(DVec2::new(v[2], v[3]))
                + into_bottom(form, DVec2::new(v[2], v[3])) * radius;
            return (v[1] > 0.0).then(|| Rim {
                wall: DVec2::new(v[0], v[1]),
                bottom: DVec2::new(v[2], v[3]),
                on_wall: form.wall(v[0], v[1]),
                on_bottom: form.bottom(DVec2::new(v[2], v[3])),
                centre,
            });
        }
        let mut rows = [[0.0; 5]; 4];
        for k in 0..4 {
            let h = if k < 2 { 1e-5 } else { 1e-4 };
            let mut moved = v;
            moved[k] += h;
            let then = miss(moved);
            for (row, (then, now)) in rows.iter_mut().zip(then.iter().zip(&now)) {
                row[k] = (then - now) / h;
                row[4] = -now;
            }
        }
        let step = solve(rows)?;
        for (v, step) in v.iter_mut().zip(step) {
            *v += step;
        }
        v[1] = v[1].max(0.0);
    }
    None
}

/// Gauss's elimination with row exchange of four equations; the last column is the right side.
fn solve(mut rows: [[f64; 5]; 4]) -> Option<[f64; 4]> {
    for k in 0..4 {
        let best = (k..4).max_by(|&i, &j| rows[i][k].abs().total_cmp(&rows[j][k].abs()))?;
        rows.swap(k, best);
        if rows[k][k].abs() < 1e-14 {
            return None;
        }
        let pivot = rows[k];
        for row in rows.iter_mut().skip(k + 1) {
            let share = row[k] / pivot[k];
            for (value, above) in row.iter_mut().zip(pivot).skip(k) {
                *value -= share * above;
            }
        }
    }
    let mut x = [0.0; 4];
    for k in (0..4).rev() {
        let known: f64 = (k + 1..4).map(|j| rows[k][j] * x[j]).sum();
        x[k] = (rows[k][4] - known) / rows[k][k];
    }
    Some(x)
}
