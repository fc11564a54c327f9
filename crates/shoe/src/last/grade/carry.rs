//! The base's mesh, marks and lines on a graded last.

use geometry::mesh::TriMesh;
use geometry::units::Unit;
use glam::DAffine3;

use super::super::marks::Found;
use super::super::stand::Last;
use super::form::Moved;
use super::tapes::Tapes;

/// `base` moved: its own file from now on, in mm, standing as it is.
pub(super) fn carried(base: &Last, moved: &Moved, tapes: &Tapes) -> Last {
    let mesh = TriMesh {
        positions: (0..moved.count()).map(|v| moved.vertex(v)).collect(),
        triangles: base.mesh.triangles.clone(),
    };
    let ground = moved.ground();
    // The places along lie behind the joints, where all is moved alike whatever its height.
    let marks = tapes.marks(&mesh, base.marks.moved(|p| moved.point(p)));
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
