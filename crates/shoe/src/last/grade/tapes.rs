//! The three tapes that set the widths of a graded last, taken on the part of it they go round.

use geometry::mesh::TriMesh;
use glam::DVec3;

use super::super::marks::{Mark, Marks, Source};
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

/// The marks that the tapes go over.
#[derive(Debug, Clone, Copy)]
pub(super) struct Over {
    medial: DVec3,
    lateral: DVec3,
    pub(super) vamp: DVec3,
    pub(super) waist: DVec3,
    pub(super) instep: DVec3,
}

impl Over {
    fn of(marks: &Marks) -> Self {
        Self {
            medial: marks.joint_medial.at,
            lateral: marks.joint_lateral.at,
            vamp: marks.vamp.at,
            waist: marks.waist.at,
            instep: marks.instep.at,
        }
    }
}

impl Tapes {
    pub(super) fn new(last: &Last) -> Self {
        let mesh = &last.mesh;
        let marks = &last.marks;
        let over = Over::of(marks);
        let foremost = over.medial.x.max(over.lateral.x).max(over.vamp.x);
        let ball_length = (over.medial.x + over.lateral.x) / 2.0;
        let mut reach = (marks.top_front.at.x - BESIDE, foremost + EVEN * ball_length + BESIDE);
        let planes = [
            ball_plane(over.medial, over.lateral),
            across(over.waist, LEANS.0),
            across(over.waist, LEANS.1),
            across(over.instep, LEANS.0),
            across(over.instep, LEANS.1),
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
        let is_there = |mark: Mark<DVec3>, at: DVec3| {
            mark.source == Source::User || mark.at.distance(at) < BY_RULE
        };
        let by_rule = ridge::of(mesh, marks).is_some_and(|on| {
            is_there(marks.vamp, on.vamp)
                && is_there(marks.waist, on.waist)
                && is_there(marks.instep, on.instep)
        });
        Self { vertices, triangles, by_rule }
    }

    /// The part, its vertices where `place` puts those of the base.
    pub(super) fn mesh(&self, place: impl Fn(usize) -> DVec3) -> TriMesh {
        TriMesh {
            positions: self.vertices.iter().map(|v| place(*v as usize)).collect(),
            triangles: self.triangles.clone(),
        }
    }

    /// The marks of a graded last that the tapes go over: `marks` went along with it, but what
    /// the rule found is found anew, as on a last that is read.
    pub(super) fn over(&self, part: &TriMesh, marks: &Marks) -> Over {
        let along = Over::of(marks);
        let Some(on) = self.by_rule.then(|| ridge::of(part, marks)).flatten() else {
            return along;
        };
        let at = |mark: Mark<DVec3>, found: DVec3| match mark.source {
            Source::User => mark.at,
            Source::Found => found,
        };
        Over {
            vamp: at(marks.vamp, on.vamp),
            waist: at(marks.waist, on.waist),
            instep: at(marks.instep, on.instep),
            ..along
        }
    }

    /// Ball, waist and instep girth of `part`, mm; 0 where there is none.
    pub(super) fn lengths(&self, part: &TriMesh, marks: &Marks) -> [f64; 3] {
        let over = self.over(part, marks);
        let ball = tape_length(part, ball_plane(over.medial, over.lateral));
        let over_ridge = |at: DVec3| {
            let (lean, _) = settled(part, at, LEANS.0, LEANS.1);
            tape_length(part, across(at, lean))
        };
        [ball, over_ridge(over.waist), over_ridge(over.instep)]
    }
}
