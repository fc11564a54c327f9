//! A first pose of a scan: long axis, sole side, heel end; the last lying on its bottom.

use glam::{DMat3, DVec2, DVec3};

use geometry::mesh::TriMesh;

/// Bins around the long axis; 5 degrees each.
const AROUND: usize = 72;
/// Bins along the long axis.
const ALONG: usize = 12;

/// The size of a body along its own axes of inertia.
#[derive(Debug, Clone, Copy)]
pub(super) struct Extents {
    /// Unit axes, the longest extent first.
    pub(super) axes: [DVec3; 3],
    /// Extents along them, in the unit of the mesh.
    pub(super) sizes: [f64; 3],
    /// Centre of the surface.
    pub(super) centre: DVec3,
}

impl Extents {
    /// Measures `mesh`, or `None` where it has no area.
    pub(super) fn new(mesh: &TriMesh) -> Option<Self> {
        let (mut area, mut first, mut second) = (0.0, DVec3::ZERO, DMat3::ZERO);
        let origin = mesh.bounds().map(|(lo, hi)| (lo + hi) / 2.0)?;
        for f in 0..mesh.triangles.len() as u32 {
            let w = mesh.area_vector(f).length();
            let [a, b, c] = mesh.corners(f).map(|p| p - origin);
            let m = (a + b + c) / 3.0;
            area += w;
            first += m * w;
            second += DMat3::from_cols(m * m.x, m * m.y, m * m.z) * w;
        }
        if !(area > 0.0 && area.is_finite()) {
            return None;
        }
        let m = first / area;
        let covariance = second * (1.0 / area) - DMat3::from_cols(m * m.x, m * m.y, m * m.z);
        let axes = symmetric_axes(covariance);
        let mut sized = axes.map(|axis| {
            let (lo, hi) = span(mesh.positions.iter().map(|p| p.dot(axis)));
            (hi - lo, axis)
        });
        sized.sort_by(|a, b| b.0.total_cmp(&a.0));
        Some(Self { axes: sized.map(|s| s.1), sizes: sized.map(|s| s.0), centre: origin + m })
    }
}

/// Smallest and largest of some numbers; (inf, -inf) of none.
pub(super) fn span(values: impl Iterator<Item = f64>) -> (f64, f64) {
    values.fold((f64::INFINITY, f64::NEG_INFINITY), |(lo, hi), v| (lo.min(v), hi.max(v)))
}

/// Unit eigenvectors of a symmetric matrix by cyclic Jacobi rotations.
fn symmetric_axes(m: DMat3) -> [DVec3; 3] {
    let mut a = m.to_cols_array_2d();
    let mut v = DMat3::IDENTITY;
    for _ in 0..30 {
        for (p, q) in [(0, 1), (0, 2), (1, 2)] {
            if a[p][q].abs() <= 1e-18 * (a[p][p].abs() + a[q][q].abs()) {
                continue;
            }
            let angle = 0.5 * (2.0 * a[p][q]).atan2(a[q][q] - a[p][p]);
            let (sin, cos) = angle.sin_cos();
            let mut r = DMat3::IDENTITY.to_cols_array_2d();
            r[p][p] = cos;
            r[q][q] = cos;
            r[q][p] = sin;
            r[p][q] = -sin;
            let r = DMat3::from_cols_array_2d(&r);
            a = (r.transpose() * DMat3::from_cols_array_2d(&a) * r).to_cols_array_2d();
            v *= r;
        }
    }
    [v.x_axis, v.y_axis, v.z_axis]
}

/// A rough pose and how clearly it showed.
#[derive(Debug, Clone, Copy)]
pub(super) struct RoughPose {
    /// Rotation from the mesh into a frame with x to the toe and z up.
    pub(super) turned: DMat3,
    /// How sure the bottom is the bottom, 0 to 1.
    pub(super) bottom_sureness: f64,
    /// How sure the heel is the heel, 0 to 1.
    pub(super) heel_sureness: f64,
}

/// Guesses the pose of a last-shaped body.
pub(super) fn rough_pose(mesh: &TriMesh, extents: &Extents) -> RoughPose {
    let long = extents.axes[0];
    let (down, bottom_sureness) = sole_side(mesh, extents);
    let turned = frame(long, -down);
    let ends = EndSigns::measure(mesh, turned, extents.centre);
    let vote = ends.toe_is_forward();
    let turned = if vote < 0.0 { frame(-long, -down) } else { turned };
    let turned = lying_on_its_bottom(mesh, turned);
    RoughPose { turned, bottom_sureness, heel_sureness: vote.abs().min(1.0) }
}

/// The rotation that takes `forward` to x and the part of `up` square to it to z.
pub(super) fn frame(forward: DVec3, up: DVec3) -> DMat3 {
    let x = forward.normalize();
    let z = (up - x * up.dot(x)).normalize();
    DMat3::from_cols(x, z.cross(x), z).transpose()
}

/// The direction, square to the long axis, in which the sole faces.
///
/// Three signs are weighed. The area facing each way is mirrored between inside and outside
/// about the sole's direction and no other but its opposite; more area faces down, evenly,
/// than any one way up; and where the surface is open, the opening is at the top.
fn sole_side(mesh: &TriMesh, extents: &Extents) -> (DVec3, f64) {
    let long = extents.axes[0];
    let (e1, e2) = (extents.axes[1], long.cross(extents.axes[1]));
    let (lo, hi) = span(mesh.positions.iter().map(|p| p.dot(long)));
    let mut facing = vec![[0.0; AROUND]; ALONG];
    let (mut total, mut open) = (0.0, DVec3::ZERO);
    for f in 0..mesh.triangles.len() as u32 {
        let n = mesh.area_vector(f);
        open -= n;
        let across = DVec2::new(n.dot(e1), n.dot(e2));
        let weight = across.length();
        if weight == 0.0 {
            continue;
        }
        let [a, b, c] = mesh.corners(f);
        let t = ((a + b + c).dot(long) / 3.0 - lo) / (hi - lo);
        let bin = ((t * ALONG as f64) as usize).min(ALONG - 1);
        let turn = across.to_angle().rem_euclid(std::f64::consts::TAU) / std::f64::consts::TAU;
        // Shared between the two nearest bins, so that a turn of the file changes little.
        let at = turn * AROUND as f64;
        let (i, part) = (at as usize, at.fract());
        facing[bin][i % AROUND] += weight * (1.0 - part);
        facing[bin][(i + 1) % AROUND] += weight * part;
        total += weight;
    }
    let open = DVec2::new(open.dot(e1), open.dot(e2));
    let blur = 2;
    let blurred: Vec<[f64; AROUND]> = facing
        .iter()
        .map(|row| {
            std::array::from_fn(|i| {
                (0..=2 * blur).map(|k| row[(i + k + AROUND - blur) % AROUND]).sum::<f64>()
                    / (2 * blur + 1) as f64
            })
        })
        .collect();
    let toward = |i: usize, half_width: usize| -> f64 {
        (0..=2 * half_width)
            .map(|k| facing.iter().map(|r| r[(i + k + AROUND - half_width) % AROUND]).sum::<f64>())
            .sum::<f64>()
            / total
    };
    let score = |i: usize| -> f64 {
        let skew: f64 = blurred
            .iter()
            .map(|row| {
                (1..AROUND / 2)
                    .map(|k| (row[(i + k) % AROUND] - row[(i + AROUND - k) % AROUND]).abs())
                    .sum::<f64>()
            })
            .sum::<f64>()
            / total;
        let angle = i as f64 / AROUND as f64 * std::f64::consts::TAU;
        let opening = -open.dot(DVec2::from_angle(angle)) / (0.05 * total);
        let flat = toward(i, 4) - toward((i + AROUND / 2) % AROUND, 4);
        2.0 * (1.0 - skew) + 2.5 * flat + 0.5 * opening.clamp(-1.0, 1.0)
    };
    let scores: Vec<f64> = (0..AROUND).map(score).collect();
    let best = (0..AROUND).max_by(|a, b| scores[*a].total_cmp(&scores[*b])).unwrap_or(0);
    let rival = (0..AROUND)
        .filter(|i| {
            let apart = (i + AROUND - best) % AROUND;
            apart.min(AROUND - apart) > AROUND / 9
        })
        .map(|i| scores[i])
        .fold(f64::NEG_INFINITY, f64::max);
    let angle = best as f64 / AROUND as f64 * std::f64::consts::TAU;
    let sure = ((scores[best] - rival) / 0.4).clamp(0.0, 1.0);
    (e1 * angle.cos() + e2 * angle.sin(), sure)
}

/// How the two ends of a body lying along x differ.
struct EndSigns {
    /// Height of the rear end against the front end, -1 to 1.
    rear_taller: f64,
    /// Where the widest place lies along the length, 0 to 1.
    widest: f64,
}

impl EndSigns {
    fn measure(mesh: &TriMesh, turned: DMat3, centre: DVec3) -> Self {
        const BINS: usize = 24;
        let points: Vec<DVec3> = mesh.positions.iter().map(|p| turned * (*p - centre)).collect();
        let (lo, hi) = span(points.iter().map(|p| p.x));
        let none = (f64::INFINITY, f64::NEG_INFINITY);
        let (mut ys, mut zs) = ([none; BINS], [none; BINS]);
        for p in &points {
            let b = (((p.x - lo) / (hi - lo) * BINS as f64) as usize).min(BINS - 1);
            ys[b] = (ys[b].0.min(p.y), ys[b].1.max(p.y));
            zs[b] = (zs[b].0.min(p.z), zs[b].1.max(p.z));
        }
        let extent = |s: (f64, f64)| (s.1 - s.0).max(0.0);
        let rear: f64 = zs[1..6].iter().map(|s| extent(*s)).sum();
        let front: f64 = zs[BINS - 6..BINS - 1].iter().map(|s| extent(*s)).sum();
        let (mut moment, mut sum) = (0.0, 0.0);
        let widest = ys.iter().map(|s| extent(*s)).fold(0.0, f64::max);
        for (b, s) in ys.iter().enumerate() {
            // The middle of everything nearly as wide as the widest place.
            if extent(*s) > 0.96 * widest {
                moment += b as f64 + 0.5;
                sum += 1.0;
            }
        }
        Self { rear_taller: (rear - front) / (rear + front), widest: moment / (sum * BINS as f64) }
    }

    /// Positive where x runs to the toe; a full vote is 1.
    fn toe_is_forward(&self) -> f64 {
        self.rear_taller / 0.4 + (self.widest - 0.5) / 0.4
    }
}

/// Turns the body about y until it rests on the two bottom points, one before and one behind
/// its middle, that carry it.
fn lying_on_its_bottom(mesh: &TriMesh, turned: DMat3) -> DMat3 {
    let mut side: Vec<DVec2> =
        mesh.positions.iter().map(|p| turned * *p).map(|p| DVec2::new(p.x, p.z)).collect();
    side.sort_by(|a, b| a.x.total_cmp(&b.x).then(a.y.total_cmp(&b.y)));
    let mut hull: Vec<DVec2> = Vec::new();
    for p in side {
        while let [.., a, b] = hull[..] {
            if (b - a).perp_dot(p - b) > 0.0 {
                break;
            }
            hull.pop();
        }
        hull.push(p);
    }
    let (Some(first), Some(last)) = (hull.first(), hull.last()) else { return turned };
    let middle = (first.x + last.x) / 2.0;
    let carrying = hull.windows(2).find(|w| w[0].x <= middle && w[1].x >= middle);
    let Some(&[rear, front]) = carrying else { return turned };
    let rise = (front - rear).to_angle();
    // About +y by `rise`: x' = cos x + sin z, z' = cos z - sin x, so the line comes level.
    DMat3::from_rotation_y(rise) * turned
}
