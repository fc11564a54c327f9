//! The last for the other foot: the mirror image.

use geometry::mesh::TriMesh;
use glam::{DAffine3, DMat3, DVec3};

use super::feather::FeatherLine;
use super::marks::{Found, Mark, Marks};
use super::stand::Last;

impl Last {
    /// The mirror image, for the other foot; its vertices are numbered alike, its triangles turned
    /// so that they still face outward.
    #[must_use]
    pub fn mirrored(&self) -> Last {
        let point = |p: DVec3| DVec3::new(p.x, -p.y, p.z);
        let mark = |mark: Mark<DVec3>| Mark { at: point(mark.at), source: mark.source };
        let line = |points: &[DVec3]| points.iter().map(|p| point(*p)).collect();
        let marks = &self.marks;
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
            marks: Marks {
                seat: mark(marks.seat),
                toe: mark(marks.toe),
                vamp: mark(marks.vamp),
                waist: mark(marks.waist),
                instep: mark(marks.instep),
                top_front: mark(marks.top_front),
                top_back: mark(marks.top_back),
                joint_medial: mark(marks.joint_medial),
                joint_lateral: mark(marks.joint_lateral),
                // It still runs round the inside first.
                feather_line: FeatherLine {
                    points: line(&marks.feather_line.points),
                    ..marks.feather_line.clone()
                },
                breast: marks.breast,
                ankle_medial_x: marks.ankle_medial_x,
                ankle_lateral_x: marks.ankle_lateral_x,
                ankle_medial: marks.ankle_medial.map(point),
                ankle_lateral: marks.ankle_lateral.map(point),
                centre_back: line(&marks.centre_back),
                centre_back_top: mark(marks.centre_back_top),
            },
            found,
        }
    }
}
