//! Invented lasts as a scanner delivers them, at a wanted number of triangles.

use geometry::mesh::TriMesh;
use geometry::mesh::subdivide::subdivide_smooth;
use geometry::mesh::weld::without_unused;
use glam::{DAffine3, DQuat, DVec3};
use shoe::last::build::{Foot, LastMeasures, Truth, build_last};

/// Standard last length, mm: on this last the coarsest mesh that can be built has about 10 thousand
/// triangles.
const STANDARD_LENGTH: f64 = 290.0;

/// Triangles of a mesh of that last times the square of its edge length, mm²: from counting.
const TRIANGLES_BY_EDGE: f64 = 161_000.0;

/// The longest edges that can be built, mm.
const LONGEST_EDGE: f64 = 4.0;

/// More triangles than this are built as a quarter of them, and each divided into four: building
/// a million would take a minute.
const MOST_BUILT: usize = 300_000;

/// How far the points of the scan lie off the surface, mm: root of the mean square.
const NOISE: f64 = 0.1;

/// A last for the right foot, EU 43.5, heel 25 mm, with about `triangles` triangles, open at the
/// top, its points off by 0.1 mm, turned and moved; in mm. The same every time.
pub(crate) fn noisy_scan(triangles: usize) -> TriMesh {
    let mut measures = LastMeasures::for_size(STANDARD_LENGTH, Foot::Right);
    measures.heel_height = 25.0;
    let quarter = triangles > MOST_BUILT;
    let to_build = if quarter { triangles / 4 } else { triangles };
    measures.resolution = (TRIANGLES_BY_EDGE / to_build as f64).sqrt().min(LONGEST_EDGE);
    let built = build_last(&measures).expect("these measures are within bounds");
    let mut scan = without_top(&built.mesh, &built.truth);
    if quarter {
        scan = subdivide_smooth(&scan);
    }
    let file_from_last = DAffine3 {
        matrix3: glam::DMat3::from_quat(DQuat::from_axis_angle(DVec3::ONE.normalize(), 2.0)),
        translation: DVec3::new(123.0, -45.0, 67.0),
    };
    let mut random = Random(20_260_101);
    for p in &mut scan.positions {
        let off = DVec3::from_array([0; 3].map(|_| random.normal())) * NOISE / 3.0_f64.sqrt();
        *p = file_from_last.transform_point3(*p + off);
    }
    scan
}

/// The flat top cut away.
fn without_top(mesh: &TriMesh, truth: &Truth) -> TriMesh {
    let along = (truth.top_front - truth.top_back).normalize();
    let up = along.cross(DVec3::Y);
    let up = up * up.z.signum();
    let kept = (0..).zip(&mesh.triangles).filter(|(face, _)| {
        let middle = mesh.corners(*face).iter().sum::<DVec3>() / 3.0;
        let facing = mesh.area_vector(*face).normalize_or_zero().dot(up);
        (middle - truth.top_back).dot(up) < -0.3 || facing < 0.9
    });
    let triangles = kept.map(|(_, t)| *t).collect();
    without_unused(&TriMesh { positions: mesh.positions.clone(), triangles })
}

/// Numbers that look random: SplitMix64 (G. Steele, D. Lea, C. Flood 2014).
struct Random(u64);

impl Random {
    /// Evenly between 0 and 1, neither of them.
    fn even(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((z ^ (z >> 31)) >> 11) as f64 / (1_u64 << 53) as f64 + f64::EPSILON / 4.0
    }

    /// By the normal distribution of width 1 (G. Box, M. Muller 1958).
    fn normal(&mut self) -> f64 {
        (-2.0 * self.even().ln()).sqrt() * (std::f64::consts::TAU * self.even()).cos()
    }
}
