//! The last for the other foot: the mirror image.

use geometry::mesh::TriMesh;
use glam::{DAffine3, DMat3, DVec3};

use super::marks::Found;
use super::stand::Last;

impl Last {
    /// The mirror image, for the other foot; its vertices are numbered alike, its triangles turned
    /// so that they still face outward.
    #[must_use]
    pub fn mirrored(&self) -> Last {
        let point = |p: DVec3| DVec3::new(p.x, -p.y, p.z);
        let foot = self.foot.other();
        let mut found = self.found.clone();
        for finding in &mut found {
            if let Found::Foot(foot) = &mut finding.what {
                *foot = foot.other();
            }
        }
        Last {
            mesh: TriMesh {
                positions: self.mesh.positions.iter().map(|p| point(*p)).collect(),
                triangles: self.mesh.triangles.iter().map(|[a, b, c]| [*a, *c, *b]).collect(),
            },
            last_from_file: DAffine3::from_mat3(DMat3::from_diagonal(DVec3::new(1.0, -1.0, 1.0)))
                * self.last_from_file,
            foot,
            foot_source: self.foot_source,
            foot_by_shape: (self.foot_by_shape.0.other(), self.foot_by_shape.1),
            unit: self.unit,
            standard_last_length: self.standard_last_length,
            heel_height: self.heel_height,
            ground: self.ground,
            // The feather line still runs round the inside first.
            marks: self.marks.moved(point),
            found,
        }
    }
}
