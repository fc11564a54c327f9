//! Finds where a surface is bent more tightly than a distance.

use glam::DVec3;

use super::level::Level;
use crate::mesh::TriMesh;
use crate::mesh::edges::{Sets, edge_uses, edges};
use crate::warned::Warning;

/// A place is bent too tightly where something is nearer by this share of the distance to what lies
/// over it.
const SHARE: f64 = 0.02;

/// Roughness alone brings things nearer, here and there: by less than so many times the median
/// difference from the vertices around.
const ROUGH: f64 = 5.0;

/// A place smaller than this share of the distance squared is not told.
const SMALL: f64 = 0.1;

/// A part of a surface that is bent more tightly than the distance.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tight {
    /// Its middle on the original surface.
    pub place: DVec3,
    /// How much of the original surface it is, mm².
    pub area: f64,
}

impl Tight {
    pub(super) fn told(&self, distance: f64) -> Warning {
        let DVec3 { x, y, z } = self.place;
        Warning {
            place: format!("surface at ({x:.1}, {y:.1}, {z:.1})"),
            message: format!(
                "the surface is bent more tightly than the {distance:.1} mm it was moved by, over {:.1} mm²",
                self.area
            ),
            hint: "expect a crease there; smooth the hollow if it is a fault of the scan"
                .to_owned(),
        }
    }
}

/// `toward` are the unit normals of the vertices, `short` what the averaged directions fell short
/// by.
pub(super) fn found(
    mesh: &TriMesh,
    level: &Level<'_>,
    toward: &[DVec3],
    short: &[f64],
) -> Vec<Tight> {
    let (mean, rough) = evened(mesh, short);
    let little = SHARE * level.distance + ROUGH * rough;
    // An averaged direction leans where the bend changes; the vertex's own does not.
    let is_tight: Vec<bool> = (0..short.len())
        .map(|v| {
            let own = || mesh.positions[v] + toward[v] * level.distance;
            mean[v] > little && level.distance - level.foot(own()).gap > little
        })
        .collect();
    let within = |f: &u32| mesh.triangles[*f as usize].iter().all(|v| is_tight[*v as usize]);
    let faces: Vec<u32> = (0..mesh.triangles.len() as u32).filter(within).collect();
    if faces.is_empty() {
        return Vec::new();
    }
    let mut sets = Sets::new(mesh.triangles.len());
    let uses = edge_uses(mesh);
    for pair in edges(&uses) {
        if let [a, b] = pair
            && within(&a.face)
            && within(&b.face)
        {
            sets.join(a.face, b.face);
        }
    }
    let mut named: Vec<(u32, u32)> = faces.into_iter().map(|f| (sets.find(f), f)).collect();
    named.sort_unstable();
    let mut parts: Vec<Tight> =
        named.chunk_by(|a, b| a.0 == b.0).map(|part| gathered(mesh, part)).collect();
    parts.retain(|part| part.area > SMALL * level.distance * level.distance);
    parts.sort_by(|a, b| b.area.total_cmp(&a.area));
    parts
}

/// The means of the values at each vertex and those around, and the median of how much the vertex
/// differs from them.
fn evened(mesh: &TriMesh, values: &[f64]) -> (Vec<f64>, f64) {
    let mut sums: Vec<(f64, f64)> = values.iter().map(|x| (*x, 1.0)).collect();
    for [a, b, c] in mesh.triangles.iter().map(|t| t.map(|v| v as usize)) {
        for (v, others) in
            [(a, values[b] + values[c]), (b, values[c] + values[a]), (c, values[a] + values[b])]
        {
            sums[v].0 += others / 2.0;
            sums[v].1 += 1.0;
        }
    }
    let means: Vec<f64> = sums.into_iter().map(|(sum, n)| sum / n).collect();
    let mut apart: Vec<f64> = means.iter().zip(values).map(|(m, x)| (m - x).abs()).collect();
    let middle = apart.len() / 2;
    let (_, median, _) = apart.select_nth_unstable_by(middle, f64::total_cmp);
    let median = *median;
    (means, median)
}

fn gathered(mesh: &TriMesh, part: &[(u32, u32)]) -> Tight {
    let (mut place, mut area) = (DVec3::ZERO, 0.0);
    for (_, face) in part {
        let own = mesh.area_vector(*face).length() / 2.0;
        place += mesh.corners(*face).iter().sum::<DVec3>() / 3.0 * own;
        area += own;
    }
    Tight { place: place / area.max(f64::MIN_POSITIVE), area }
}
