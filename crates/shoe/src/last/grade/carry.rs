//! The base's mesh, marks and lines on a graded last.

use geometry::mesh::TriMesh;
use geometry::units::Unit;
use glam::{DAffine3, DVec3};

use super::super::feather::FeatherLine;
use super::super::marks::{Found, Mark, Marks};
use super::super::stand::Last;
use super::form::Moved;

/// `base` moved: its own file from now on, in mm, standing as it is.
pub(super) fn carried(base: &Last, moved: &Moved) -> Last {
    let mesh = TriMesh {
        positions: (0..moved.count()).map(|v| moved.vertex(v)).collect(),
        triangles: base.mesh.triangles.clone(),
    };
    let point = |p: DVec3| moved.point(p);
    let mark = |mark: Mark<DVec3>| Mark { at: point(mark.at), source: mark.source };
    // The places along lie behind the joints, where all is moved alike whatever its height.
    let along = |mark: Mark<f64>| Mark { at: point(DVec3::X * mark.at).x, source: mark.source };
    let old = &base.marks;
    let line = |points: &[DVec3]| points.iter().map(|p| point(*p)).collect();
    let marks = Marks {
        seat: mark(old.seat),
        toe: mark(old.toe),
        vamp: mark(old.vamp),
        waist: mark(old.waist),
        instep: mark(old.instep),
        top_front: mark(old.top_front),
        top_back: mark(old.top_back),
        joint_medial: mark(old.joint_medial),
        joint_lateral: mark(old.joint_lateral),
        feather_line: FeatherLine {
            points: line(&old.feather_line.points),
            edge: old.feather_line.edge,
            sureness: old.feather_line.sureness,
            source: old.feather_line.source,
        },
        breast: along(old.breast),
        ankle_medial_x: along(old.ankle_medial_x),
        ankle_lateral_x: along(old.ankle_lateral_x),
        ankle_medial: old.ankle_medial.map(point),
        ankle_lateral: old.ankle_lateral.map(point),
        centre_back: line(&old.centre_back),
        centre_back_top: mark(old.centre_back_top),
    };
    let ground = moved.ground();
    // What was found of the scan itself is not true of another size.
    let stays = |what: &Found| {
        !matches!(what, Found::Unit(_) | Found::HeelHeight(_) | Found::StandardLength(_))
    };
    Last {
        mesh,
        last_from_file: DAffine3::IDENTITY,
        foot: base.foot,
        foot_source: base.foot_source,
        foot_by_shape: base.foot_by_shape,
        unit: Unit::Mm,
        standard_last_length: moved.standard_last_length(),
        heel_height: base.heel_height + base.ground - ground,
        ground,
        marks,
        found: base.found.iter().filter(|f| stays(&f.what)).cloned().collect(),
    }
}
