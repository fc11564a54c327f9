//! The three tapes that set the widths of a graded last, taken on the part of it they go round.

use geometry::mesh::TriMesh;
use glam::DVec3;

use super::super::marks::Marks;
use super::super::measure::{LEANS, across, ball_plane, settled, tape, tape_length};
use super::super::ridge::{self, EVEN};
use super::super::stand::Last;

/// What is kept beside the outermost tapes, mm: on other sizes they lie a little elsewhere.
const BESIDE: f64 = 10.0;

/// A mark nearer than this to where the rule finds it was found by the rule, mm.
const BY_RULE: f64 = 1e-6;

/// Where the tapes of a last lie.
#[derive(Debug, Clone)]
pub(super) struct Tapes {
    /// Vertices of the part, by their number in the base.
    vertices: Vec<u32>,
    /// Its triangles, by place in `vertices`.
    triangles: Vec<[u32; 3]>,
    /// Whether the rule finds the marks of the ridge, on every size anew.
    by_rule: bool,
}

impl Tapes {
    pub(super) fn new(last: &Last) -> Self {
        let mesh = &last.mesh;
        let marks = &last.marks;
        let (medial, lateral) = (marks.joint_medial.at, marks.joint_lateral.at);
        let foremost = medial.x.max(lateral.x).max(marks.vamp.at.x);
        let ball_length = (medial.x + lateral.x) / 2.0;
        let mut reach = (marks.top_front.at.x - BESIDE, foremost + EVEN * ball_length + BESIDE);
        let planes = [
            ball_plane(medial, lateral),
            across(marks.waist.at, LEANS.0),
            across(marks.waist.at, LEANS.1),
            across(marks.instep.at, LEANS.0),
            across(marks.instep.at, LEANS.1),
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
        let mut anew = marks.clone();
        let shows = ridge::find_anew(mesh, &mut anew);
        let on_ridge = |marks: &Marks| [marks.vamp.at, marks.waist.at, marks.instep.at];
        let mut pairs = on_ridge(marks).into_iter().zip(on_ridge(&anew));
        let by_rule = shows && pairs.all(|(mark, anew)| mark.distance(anew) < BY_RULE);
        Self { vertices, triangles, by_rule }
    }

    /// The part, its vertices where `place` puts those of the base.
    pub(super) fn mesh(&self, place: impl Fn(usize) -> DVec3) -> TriMesh {
        TriMesh {
            positions: self.vertices.iter().map(|v| place(*v as usize)).collect(),
            triangles: self.triangles.clone(),
        }
    }

    /// The marks of a graded last: `marks` went along with it, but what the rule found is found
    /// anew on `mesh`, the last or the part, as on a last that is read.
    pub(super) fn marks(&self, mesh: &TriMesh, mut marks: Marks) -> Marks {
        if self.by_rule {
            ridge::find_anew(mesh, &mut marks);
        }
        marks
    }

    /// Ball, waist and instep girth of `part`, mm; 0 where there is none.
    pub(super) fn lengths(&self, part: &TriMesh, marks: Marks) -> [f64; 3] {
        let marks = self.marks(part, marks);
        let ball = tape_length(part, ball_plane(marks.joint_medial.at, marks.joint_lateral.at));
        let over_ridge = |at: DVec3| {
            let (lean, _) = settled(part, at, LEANS.0, LEANS.1);
            tape_length(part, across(at, lean))
        };
        [ball, over_ridge(marks.waist.at), over_ridge(marks.instep.at)]
    }
}
