//! The three tapes that set the widths of a graded last, taken on the part of it they go round.

use geometry::mesh::TriMesh;
use glam::DVec3;

use super::super::marks::Marks;
use super::super::measure::{LEANS, across, ball_plane, settled, tape, tape_length};
use super::super::stand::Last;

/// What is kept beside the outermost tapes, mm: on other sizes they lie a little elsewhere.
const BESIDE: f64 = 10.0;

/// Where the tapes of a last lie.
#[derive(Debug, Clone)]
pub(super) struct Tapes {
    /// Vertices of the part, by their number in the base.
    vertices: Vec<u32>,
    /// Its triangles, by place in `vertices`.
    triangles: Vec<[u32; 3]>,
}

/// The marks that the tapes go over.
#[derive(Debug, Clone, Copy)]
pub(super) struct Over {
    medial: DVec3,
    lateral: DVec3,
    ridge: [DVec3; 2],
}

impl Over {
    fn of(marks: &Marks) -> Self {
        Self {
            medial: marks.joint_medial.at,
            lateral: marks.joint_lateral.at,
            ridge: [marks.waist.at, marks.instep.at],
        }
    }
}

impl Tapes {
    pub(super) fn new(last: &Last) -> Self {
        let mesh = &last.mesh;
        let over = Over::of(&last.marks);
        let mut reach = (f64::INFINITY, f64::NEG_INFINITY);
        let planes = [
            ball_plane(over.medial, over.lateral),
            across(over.ridge[0], LEANS.0),
            across(over.ridge[0], LEANS.1),
            across(over.ridge[1], LEANS.0),
            across(over.ridge[1], LEANS.1),
        ];
        for p in planes.iter().flat_map(|plane| tape(mesh, *plane)) {
            reach = (reach.0.min(p.x - BESIDE), reach.1.max(p.x + BESIDE));
        }
        let near = |v: u32| (reach.0..reach.1).contains(&mesh.positions[v as usize].x);
        let mut number = vec![u32::MAX; mesh.positions.len()];
        let mut vertices = Vec::new();
        let mut triangles = Vec::new();
        for triangle in mesh.triangles.iter().filter(|t| t.iter().any(|v| near(*v))) {
            triangles.push(triangle.map(|v| {
                let at = &mut number[v as usize];
                if *at == u32::MAX {
                    *at = vertices.len() as u32;
                    vertices.push(v);
                }
                *at
            }));
        }
        Self { vertices, triangles }
    }

    /// The part, its vertices where `place` puts those of the base.
    pub(super) fn mesh(&self, place: impl Fn(usize) -> DVec3) -> TriMesh {
        TriMesh {
            positions: self.vertices.iter().map(|v| place(*v as usize)).collect(),
            triangles: self.triangles.clone(),
        }
    }

    /// The marks that the tapes go over, moved.
    pub(super) fn marks(&self, marks: &Marks, moved: impl Fn(DVec3) -> DVec3) -> Over {
        let over = Over::of(marks);
        Over {
            medial: moved(over.medial),
            lateral: moved(over.lateral),
            ridge: over.ridge.map(moved),
        }
    }

    /// Ball, waist and instep girth of a last with these positions, mm; 0 where there is none.
    pub(super) fn lengths(&self, positions: &[DVec3], marks: &Marks) -> [f64; 3] {
        self.lengths_on(&self.mesh(|v| positions[v]), Over::of(marks))
    }

    /// The same on the part alone.
    pub(super) fn lengths_on(&self, part: &TriMesh, over: Over) -> [f64; 3] {
        let ball = tape_length(part, ball_plane(over.medial, over.lateral));
        let over_ridge = |k: usize| {
            let (lean, _) = settled(part, over.ridge[k], LEANS.0, LEANS.1);
            tape_length(part, across(over.ridge[k], lean))
        };
        [ball, over_ridge(0), over_ridge(1)]
    }
}
