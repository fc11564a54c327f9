//! A small patch of a layout settled while all around it stays: much cheaper than a step of the whole,
//! where what is left to do lies in one place.

use std::collections::BTreeSet;

use geometry::mesh::TriMesh;
use glam::DVec2;

use crate::bending;
use crate::dirichlet::Dirichlet;
use crate::held::{HeldEdges, HeldLine};
use crate::newton::{Begin, Descent, descend_once};
use crate::numbering::Numbering;
use crate::objective::Objective;
use crate::system::System;

/// So many rings of triangles about what moves belong to the patch.
const RINGS: usize = 6;
/// A patch of more than this share of the vertices is no small one.
const MOST: f64 = 0.1;
/// More steps are not worth it.
const MOST_STEPS: usize = 12;

/// The surface and its lines, of which a patch may be settled.
pub(crate) struct Patches<'a> {
    pub(crate) mesh: &'a TriMesh,
    pub(crate) lines: &'a [HeldLine],
    /// The strains about which the lines' cost is a parabola, edge by edge.
    pub(crate) strains: &'a [f64],
}

impl Patches<'_> {
    /// The layout with the patch about the vertices that are `moving` settled; `None` where the patch
    /// is too large, or cannot be settled by itself.
    pub(crate) fn settled(&self, points: &[DVec2], moving: &[bool]) -> Option<Vec<DVec2>> {
        let near = widened(&self.mesh.triangles, moving);
        let vertices: Vec<u32> = (0..).zip(&near).filter(|(_, n)| **n).map(|(v, _)| v).collect();
        if vertices.is_empty() || vertices.len() as f64 > MOST * points.len() as f64 {
            return None;
        }
        let mut place = vec![u32::MAX; points.len()];
        for (i, v) in (0..).zip(&vertices) {
            place[*v as usize] = i;
        }
        let mut pinned = vec![[false; 2]; vertices.len()];
        let mut triangles = Vec::new();
        for t in &self.mesh.triangles {
            let here = t.map(|v| place[v as usize]);
            if here.iter().all(|v| *v != u32::MAX) {
                triangles.push(here);
            } else {
                here.iter()
                    .filter(|v| **v != u32::MAX)
                    .for_each(|v| pinned[*v as usize] = [true; 2]);
            }
        }
        let sides: BTreeSet<[u32; 2]> =
            triangles.iter().flat_map(|t| [0, 1, 2].map(|k| side(t[k], t[(k + 1) % 3]))).collect();
        let (lines, strains) = self.lines_on(&place, &sides);
        let positions = vertices.iter().map(|v| self.mesh.positions[*v as usize]).collect();
        let mesh = TriMesh { positions, triangles };
        let numbering = Numbering::new(&mesh, &bending::pairs(&lines)).ok()?;
        let lines: Vec<HeldLine> = lines.iter().map(|line| line.renumbered(&numbering)).collect();
        let mesh = numbering.renumbered(&mesh);
        let n = mesh.positions.len();
        let mut system = System::new(n, &mesh.triangles, &bending::pairs(&lines)).ok()?;
        let surface = Dirichlet::new(&mesh);
        let held = HeldEdges::new(&mesh, &lines, &system, surface.total_area()).ok()?;
        let held = held.near(&strains);
        let objective = Objective::pinned_at(&surface, &held, numbering.to_new(&pinned));
        let here: Vec<DVec2> = vertices.iter().map(|v| points[*v as usize]).collect();
        let start = numbering.to_new(&here);
        let mut descent = Descent { points: start, iterations: 0, converged: false };
        descend_once(&mut descent, &objective, &mut system, MOST_STEPS, true, Begin::Afresh)
            .ok()?;
        if !descent.converged {
            return None;
        }
        let mut all = points.to_vec();
        for (v, at) in vertices.iter().zip(numbering.to_old(&descent.points)) {
            all[*v as usize] = at;
        }
        Some(all)
    }

    /// The runs of the held lines along `sides`, under the numbers of the patch, and their strains.
    fn lines_on(&self, place: &[u32], sides: &BTreeSet<[u32; 2]>) -> (Vec<HeldLine>, Vec<f64>) {
        let (mut lines, mut strains) = (Vec::new(), Vec::new());
        let mut edge = 0;
        for line in self.lines {
            let mut run: Vec<u32> = Vec::new();
            let mut end = |run: &mut Vec<u32>| {
                let vertices = std::mem::take(run);
                if vertices.len() > 1 {
                    lines.push(HeldLine { vertices, ..line.clone() });
                }
            };
            for pair in line.vertices.windows(2) {
                let [a, b] = [pair[0], pair[1]].map(|v| place[v as usize]);
                if sides.contains(&side(a, b)) {
                    if run.is_empty() {
                        run.push(a);
                    }
                    run.push(b);
                    strains.push(self.strains[edge]);
                } else {
                    end(&mut run);
                }
                edge += 1;
            }
            end(&mut run);
        }
        (lines, strains)
    }
}

fn side(a: u32, b: u32) -> [u32; 2] {
    [a.min(b), a.max(b)]
}

/// `marked` and what lies within so many rings of triangles about it.
fn widened(triangles: &[[u32; 3]], marked: &[bool]) -> Vec<bool> {
    let mut near = marked.to_vec();
    for _ in 0..RINGS {
        let before = near.clone();
        for t in triangles {
            if t.iter().any(|v| before[*v as usize]) {
                t.iter().for_each(|v| near[*v as usize] = true);
            }
        }
    }
    near
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::flattening::Options;
    use crate::held::Hold;
    use crate::layout::flatten;
    use crate::surfaces;

    #[test]
    fn what_was_moved_in_one_place_goes_back() {
        let (columns, rows) = (40, 30);
        let mesh = surfaces::saddle(columns, rows);
        let line = |row, hold| HeldLine {
            vertices: surfaces::row(columns, row),
            hold,
            share: 1.0,
            stiffness: 3e4,
            bending: 0.0,
        };
        let lines = [line(0, Hold::NotLonger), line(rows / 2, Hold::Keep)];
        let options = Options { held: lines.to_vec(), ..Options::default() };
        let least = flatten(&mesh, &options).expect("lies flat").points;
        let system = System::new(least.len(), &mesh.triangles, &[]).expect("a pattern");
        let held = HeldEdges::new(&mesh, &lines, &system, 1.0).expect("along edges");
        let patches = Patches { mesh: &mesh, lines: &lines, strains: &held.strains(&least) };

        let mut moved = least.clone();
        let mut moving = vec![false; least.len()];
        for v in [0, 1, columns, columns + 1] {
            moved[v] += DVec2::new(0.02, -0.01);
            moving[v] = true;
        }
        let settled = patches.settled(&moved, &moving).expect("a small patch");
        let off =
            |at: &[DVec2]| at.iter().zip(&least).map(|(a, b)| a.distance(*b)).fold(0.0, f64::max);
        assert!(off(&moved) > 0.02);
        assert!(off(&settled) < 1e-4, "{}", off(&settled));
        let stays = settled.iter().zip(&moved).filter(|(a, b)| a == b).count();
        assert!(stays > least.len() * 9 / 10, "{stays}");
    }

    #[test]
    fn half_of_a_surface_is_no_patch() {
        let mesh = surfaces::saddle(20, 20);
        let points: Vec<DVec2> = mesh.positions.iter().map(|p| p.truncate()).collect();
        let patches = Patches { mesh: &mesh, lines: &[], strains: &[] };
        let half: Vec<bool> = (0..points.len()).map(|v| v < 200).collect();
        assert_eq!(patches.settled(&points, &half), None);
        assert_eq!(patches.settled(&points, &vec![false; points.len()]), None);
    }
}
