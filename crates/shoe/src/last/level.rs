//! Standing the last: heading along its axis, level across, on its heel height.
//!
//! The x axis runs, seen from above, from the seat point through the middle between the two
//! joints. Across, the last is level where its feather line is as high on one side as on the
//! other, at the seat and at the tread in equal parts; without an edge, where the ball rests
//! on both sides. Along, the lowest point of the tread touches the ground and the seat point
//! stands at the heel height; where that is unknown, the lowest point lies under the joint line.

use glam::{DMat3, DVec3};

use geometry::mesh::TriMesh;

use super::fit::{add, solved};
use super::joints::{Widest, foremost, joints, rearmost};

/// What is known before.
#[derive(Debug, Clone, Copy)]
pub(super) struct Known {
    /// The user's heel height, mm.
    pub(super) heel_height: Option<f64>,
    /// The user's seat, in the frame of the mesh.
    pub(super) seat: Option<DVec3>,
    /// The user's joints, left (+y) and right, in the frame of the mesh.
    pub(super) joints: [Option<DVec3>; 2],
    /// Whether the surface has no edge, so that it rests on heel and ball as a foot does.
    pub(super) edgeless: bool,
    /// Whether heading and roll (and pitch, where no heel height is given) are the user's.
    pub(super) pose_fixed: bool,
}

/// A standing last.
#[derive(Debug, Clone, Copy)]
pub(super) struct Level {
    /// Rotation from the mesh into the last frame.
    pub(super) turned: DMat3,
    /// The seat in the frame of the mesh.
    pub(super) seat: DVec3,
    /// The toe in the frame of the mesh.
    pub(super) toe: DVec3,
    /// Joints, left and right, in the last frame with the seat at the origin.
    pub(super) joints: [Widest; 2],
    /// Length of the feather line along x, mm.
    pub(super) length: f64,
    /// Height of the seat above the lowest point of the tread, mm.
    pub(super) heel_height: f64,
    /// The heel height at which the tread would be lowest under the joint line, mm; as it stands
    /// where there is no edge.
    pub(super) heel_height_by_tread: f64,
    /// Height of the lowest point of the tread against the seat, mm.
    pub(super) ground: f64,
}

/// The tread's lowest point is sought between these parts of the length.
pub(super) const TREAD_WITHIN: (f64, f64) = (0.5, 0.9);

/// Half the stretch over which the slope of the tread is fitted, in lengths.
const TREAD_FITTED: f64 = 0.07;

/// Without an edge, both sides of the ball carry when each is lowest further out than this, mm.
const BALL_APART: f64 = 10.0;

/// Stands `mesh`, whose frame is roughly the last's, by its feather `line`.
pub(super) fn stand_level(mesh: &TriMesh, line: &[DVec3], known: &Known) -> Option<Level> {
    let mut turned = DMat3::IDENTITY;
    for _ in 0..12 {
        let view = View::new(mesh, line, turned, known)?;
        if !known.pose_fixed {
            let middle = (view.joints[0].at + view.joints[1].at) / 2.0;
            let heading = middle.y.atan2(middle.x);
            turned = DMat3::from_rotation_z(-heading) * turned;
            let view = View::new(mesh, line, turned, known)?;
            turned = DMat3::from_rotation_x(-view.roll(known.edgeless)) * turned;
        }
        if known.pose_fixed && known.heel_height.is_none() {
            break;
        }
        // One step nearly settles it; the region that carries the tread may move a little.
        for _ in 0..6 {
            let view = View::new(mesh, line, turned, known)?;
            turned = DMat3::from_rotation_y(view.pitch(known)) * turned;
        }
    }
    let view = View::new(mesh, line, turned, known)?;
    let heel_height = view.heel_rest(known.edgeless) - view.tread().z;
    let lifted = if known.edgeless { 0.0 } else { view.tread_slope().tan() * view.tread().x };
    Some(Level {
        turned,
        seat: turned.transpose() * view.seat,
        toe: turned.transpose() * view.toe,
        joints: view.joints,
        length: view.length,
        heel_height,
        heel_height_by_tread: heel_height + lifted,
        ground: view.tread().z,
    })
}

/// The last as turned so far, the seat moved to the origin.
struct View<'a> {
    mesh: &'a TriMesh,
    turned: DMat3,
    /// Before the move to the origin.
    seat: DVec3,
    toe: DVec3,
    length: f64,
    line: Vec<DVec3>,
    joints: [Widest; 2],
}

impl<'a> View<'a> {
    fn new(mesh: &'a TriMesh, line: &[DVec3], turned: DMat3, known: &Known) -> Option<Self> {
        let line: Vec<DVec3> = line.iter().map(|p| turned * *p).collect();
        let seat = match known.seat {
            Some(seat) => turned * seat,
            None => rearmost(&line)?,
        };
        let toe = foremost(&line)?;
        let length = toe.x - seat.x;
        let line: Vec<DVec3> = line.into_iter().map(|p| p - seat).collect();
        let mut joints = joints(&line, 0.0, length)?;
        for (joint, given) in joints.iter_mut().zip(known.joints) {
            if let Some(given) = given {
                *joint = Widest { at: turned * given - seat, at_border: false };
            }
        }
        Some(Self { mesh, turned, seat, toe, length, line, joints })
    }

    fn vertices(&self) -> impl Iterator<Item = DVec3> + '_ {
        self.mesh.positions.iter().map(|p| self.turned * *p - self.seat)
    }

    /// The lowest vertex for which `wanted` holds; the seat where there is none.
    fn lowest(&self, wanted: impl Fn(&DVec3) -> bool) -> DVec3 {
        self.vertices()
            .filter(|p| wanted(p))
            .min_by(|a, b| a.z.total_cmp(&b.z))
            .unwrap_or(DVec3::ZERO)
    }

    fn tread(&self) -> DVec3 {
        let range = TREAD_WITHIN.0 * self.length..=TREAD_WITHIN.1 * self.length;
        self.lowest(|p| range.contains(&p.x))
    }

    /// Height of what the heel stands with: the seat point, or without an edge the lowest
    /// point of the heel.
    fn heel_rest(&self, edgeless: bool) -> f64 {
        if edgeless { self.heel_bottom().z } else { 0.0 }
    }

    fn heel_bottom(&self) -> DVec3 {
        self.lowest(|p| p.x < 0.3 * self.length)
    }

    /// How much the left side is higher than the right, as an angle.
    fn roll(&self, edgeless: bool) -> f64 {
        if edgeless {
            let ball = 0.58 * self.length..=0.85 * self.length;
            let left = self.lowest(|p| ball.contains(&p.x) && p.y > BALL_APART);
            let right = self.lowest(|p| ball.contains(&p.x) && p.y < -BALL_APART);
            // A ball that rests on both sides is lowest well away from the middle; a tread
            // that bulges is lowest at the middle, and would rock.
            if left.y > BALL_APART + 3.0 && right.y < -BALL_APART - 3.0 {
                return (left.z - right.z).atan2(left.y - right.y);
            }
        }
        let slope = |from: f64, to: f64| -> f64 {
            let side = |left: bool| -> DVec3 {
                let (mut sum, mut n) = (DVec3::ZERO, 0.0);
                for p in &self.line {
                    if (p.y > 0.0) == left && (from * self.length..to * self.length).contains(&p.x)
                    {
                        sum += *p;
                        n += 1.0;
                    }
                }
                sum / f64::max(n, 1.0)
            };
            let across = side(true) - side(false);
            across.z.atan2(across.y.max(1.0))
        };
        (slope(0.03, 0.15) + slope(0.66, 0.80)) / 2.0
    }

    /// The turn about y that brings the seat to its height above the tread.
    fn pitch(&self, known: &Known) -> f64 {
        let tread = self.tread();
        let wanted = match known.heel_height {
            Some(height) => height,
            None if known.edgeless => 0.0,
            None => return self.tread_slope(),
        };
        let heel = if known.edgeless { self.heel_bottom() } else { DVec3::ZERO };
        let lacking = wanted - (heel.z - tread.z);
        (lacking / (tread.x - heel.x).max(1.0)).atan().clamp(-0.5, 0.5)
    }

    /// The turn about y that brings the lowest point of the tread under the joint line: by the
    /// slope there of a paraboloid fitted to the bottom, with a cubic part along: behind the
    /// tread of a high heel the bottom rises far more steeply than in front of it.
    fn tread_slope(&self) -> f64 {
        let [left, right] = self.joints.map(|j| j.at);
        let middle = (left + right) / 2.0;
        let (along, across) = (TREAD_FITTED * self.length, 0.35 * (left.y - right.y));
        let mut sums = [[0.0; 8]; 7];
        for f in 0..self.mesh.triangles.len() as u32 {
            let normal = self.turned * self.mesh.area_vector(f);
            let area = normal.length();
            if normal.z > -0.7 * area {
                continue;
            }
            let [a, b, c] = self.mesh.corners(f);
            let at = self.turned * ((a + b + c) / 3.0) - self.seat;
            let (u, v) = ((at.x - middle.x) / along, (at.y - middle.y) / across);
            if u.abs() < 1.0 && v.abs() < 1.0 {
                add(&mut sums, [1.0, u, v, u * u, u * v, v * v, u.powi(3)], at.z, area);
            }
        }
        let Some([_, along_slope, across_slope, _, both, bulge, _]) = solved(sums) else {
            return 0.0;
        };
        // The lowest place across, where the tread bulges; else the middle.
        let lowest = if bulge > 0.0 { -across_slope / (2.0 * bulge) } else { 0.0 };
        let slope = (along_slope + both * lowest.clamp(-1.0, 1.0)) / along;
        slope.atan().clamp(-0.5, 0.5)
    }
}
