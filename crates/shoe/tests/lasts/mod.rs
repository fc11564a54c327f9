//! Built lasts hidden in a file's coordinates, for the tests of standing.
#![allow(dead_code, reason = "each test file uses its own part")]

use geometry::mesh::TriMesh;
use geometry::units::Unit;
use glam::{DAffine3, DMat3, DQuat, DVec3};
use shoe::last::build::{BuiltLast, LastMeasures, build_last};
use shoe::last::marks::Foot;

/// A last to build and where to hide it.
pub(crate) struct Case {
    pub(crate) eu: f64,
    pub(crate) foot: Foot,
    pub(crate) heel: f64,
    pub(crate) radius: f64,
    pub(crate) unit: Unit,
    pub(crate) turn: (DVec3, f64),
}

pub(crate) fn standard_length(eu: f64) -> f64 {
    eu * 20.0 / 3.0
}

pub(crate) struct Hidden {
    pub(crate) built: BuiltLast,
    /// In the file's coordinates.
    pub(crate) mesh: TriMesh,
    pub(crate) file_from_truth: DAffine3,
}

pub(crate) fn hide(case: &Case) -> Hidden {
    let mut measures = LastMeasures::for_size(standard_length(case.eu), case.foot);
    measures.heel_height = case.heel;
    measures.edge_radius = case.radius;
    let built = build_last(&measures).expect("these measures are within bounds");
    let turned = DMat3::from_quat(DQuat::from_axis_angle(case.turn.0, case.turn.1));
    let file_from_truth = DAffine3 {
        matrix3: turned * (1.0 / case.unit.in_mm()),
        translation: DVec3::new(123.0, -45.0, 67.0) / case.unit.in_mm(),
    };
    let mesh = moved(&built.mesh, &file_from_truth);
    Hidden { built, mesh, file_from_truth }
}

pub(crate) fn moved(mesh: &TriMesh, by: &DAffine3) -> TriMesh {
    TriMesh {
        positions: mesh.positions.iter().map(|p| by.transform_point3(*p)).collect(),
        triangles: mesh.triangles.clone(),
    }
}

/// Distance of `p` from the closed line through `line`, mm.
pub(crate) fn away_from_closed_line(p: DVec3, line: &[DVec3]) -> f64 {
    (0..line.len())
        .map(|i| {
            let (a, b) = (line[i], line[(i + 1) % line.len()]);
            let side = b - a;
            let t = ((p - a).dot(side) / side.length_squared().max(1e-30)).clamp(0.0, 1.0);
            p.distance(a + side * t)
        })
        .fold(f64::INFINITY, f64::min)
}
