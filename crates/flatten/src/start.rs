//! A first layout without flipped triangles.

use std::f64::consts::TAU;

use geometry::mesh::TriMesh;
use glam::DVec2;

use crate::dirichlet::Dirichlet;
use crate::flattening::FlattenError;
use crate::overlap::is_flipped;
use crate::push::pushed_apart;
use crate::system::System;

/// A layout to descend from.
pub(crate) struct Start {
    pub(crate) points: Vec<DVec2>,
    /// Two vertices far apart, the second to the right of the first: they hold the pose.
    pub(crate) anchors: [u32; 2],
}

impl Start {
    /// The points with the first anchor at the origin and the second to its right.
    pub(crate) fn posed(mut points: Vec<DVec2>, anchors: [u32; 2]) -> Self {
        let [origin, right] = anchors.map(|v| points[v as usize]);
        let turn = (right - origin).try_normalize().unwrap_or(DVec2::X);
        let turn_back = DVec2::new(turn.x, -turn.y);
        for p in &mut points {
            *p = turn_back.rotate(*p - origin);
        }
        Self { points, anchors }
    }
}

/// The first layouts there are to try, the best first.
pub(crate) struct Starts<'a> {
    pub(crate) mesh: &'a TriMesh,
    /// Counter-clockwise.
    pub(crate) boundary: &'a [u32],
    pub(crate) dirichlet: &'a Dirichlet,
}

impl Starts<'_> {
    /// The conformal layout, or `None` where it flips a triangle or cannot be found.
    pub(crate) fn conformal(&self, system: &mut System) -> Option<Start> {
        let anchors = far_apart(self.mesh, self.boundary);
        let points = conformal(self.mesh, anchors, self.dirichlet, system)?;
        self.is_usable(&points).then(|| self.posed(points, anchors))
    }

    /// The disc, which is far from the optimum, but flips nothing.
    ///
    /// # Errors
    /// When the triangles are so extreme that the arithmetic fails.
    pub(crate) fn disc(&self, system: &mut System) -> Result<Start, FlattenError> {
        let points = disc(self.mesh, self.boundary, system)
            .map_err(|cause| FlattenError::Unsolvable { iteration: 0, cause })?;
        if !self.is_usable(&points) {
            let (first, flipped) = self.first_flipped(&points).unwrap_or_default();
            return Err(FlattenError::NoStart { flipped, first });
        }
        Ok(self.posed(points, far_apart(self.mesh, self.boundary)))
    }

    /// A layout beside `points`, which overlaps, that does not; `None` where pushing its parts off
    /// each other flips a triangle.
    pub(crate) fn beside(&self, points: &[DVec2]) -> Option<Start> {
        let points = pushed_apart(points, self.boundary)?;
        self.is_usable(&points).then(|| Start::posed(points, far_apart(self.mesh, self.boundary)))
    }

    fn is_usable(&self, points: &[DVec2]) -> bool {
        self.first_flipped(points).is_none() && self.dirichlet.energy(points).is_finite()
    }

    /// The first triangle that is flipped or nowhere, and how many are.
    fn first_flipped(&self, points: &[DVec2]) -> Option<(u32, usize)> {
        let triangles = &self.mesh.triangles;
        let mut flipped = (0..triangles.len()).filter(|&f| {
            is_flipped(points, triangles[f]) || !points[triangles[f][0] as usize].is_finite()
        });
        flipped.next().map(|first| (first as u32, 1 + flipped.count()))
    }

    /// The points at the best scale, the first anchor at the origin, the second to its right.
    fn posed(&self, mut points: Vec<DVec2>, anchors: [u32; 2]) -> Start {
        let scale = self.dirichlet.best_scale(&points);
        points.iter_mut().for_each(|p| *p *= scale);
        Start::posed(points, anchors)
    }
}

/// Two boundary vertices, neither of which has a further boundary vertex than the other.
fn far_apart(mesh: &TriMesh, boundary: &[u32]) -> [u32; 2] {
    let mut pair = [boundary[0]; 2];
    let mut apart = 0.0;
    loop {
        let from = mesh.positions[pair[1] as usize];
        let mut next = (apart, None);
        for &v in boundary {
            let distance = from.distance_squared(mesh.positions[v as usize]);
            if distance > next.0 {
                next = (distance, Some(v));
            }
        }
        let Some(further) = next.1 else { return pair };
        apart = next.0;
        pair = [pair[1], further];
    }
}

/// The least-squares conformal map with two vertices pinned; `None` if it cannot be solved.
fn conformal(
    mesh: &TriMesh,
    anchors: [u32; 2],
    dirichlet: &Dirichlet,
    system: &mut System,
) -> Option<Vec<DVec2>> {
    let n = mesh.positions.len();
    let [a, b] = anchors.map(|v| v as usize);
    let mut pinned = vec![[false; 2]; n];
    pinned[a] = [true; 2];
    pinned[b] = [true; 2];
    let mut fixed = vec![DVec2::ZERO; n];
    fixed[b].x = mesh.positions[a].distance(mesh.positions[b]);
    let mut right = vec![DVec2::ZERO; n];
    system.clear();
    dirichlet.add_conformal(system);
    system.pin(&pinned, &fixed, &mut right);
    system.factor().ok()?;
    Some(system.solve(&right))
}

/// The boundary on a circle, every inner vertex in the middle of its neighbours: flips nothing
/// (W. T. Tutte, "How to Draw a Graph", 1963).
fn disc(mesh: &TriMesh, boundary: &[u32], system: &mut System) -> Result<Vec<DVec2>, String> {
    let n = mesh.positions.len();
    let sides: Vec<f64> = boundary
        .iter()
        .zip(boundary.iter().cycle().skip(1))
        .map(|(&a, &b)| mesh.positions[a as usize].distance(mesh.positions[b as usize]))
        .collect();
    let around: f64 = sides.iter().sum();
    let mut pinned = vec![[false; 2]; n];
    let mut fixed = vec![DVec2::ZERO; n];
    let mut gone = 0.0;
    for (&v, side) in boundary.iter().zip(&sides) {
        pinned[v as usize] = [true; 2];
        fixed[v as usize] = DVec2::from_angle(TAU * gone / around) * (around / TAU);
        gone += side;
    }
    let mut right = vec![DVec2::ZERO; n];
    system.clear();
    system.add_differences(&mesh.triangles);
    system.pin(&pinned, &fixed, &mut right);
    system.factor()?;
    Ok(system.solve(&right))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::overlap::flipped;
    use crate::surfaces;

    #[test]
    fn conformal_start_of_a_cylinder_is_its_rectangle() {
        let mesh = surfaces::cylinder(20, 10);
        let boundary = crate::disk::boundary_of_disk(&mesh).unwrap();
        let dirichlet = Dirichlet::new(&mesh);
        let mut system = System::new(mesh.positions.len(), &mesh.triangles, &[]).unwrap();
        let starts = Starts { mesh: &mesh, boundary: &boundary, dirichlet: &dirichlet };
        let start = starts.conformal(&mut system).unwrap();
        assert!(dirichlet.energy(&start.points) < 1e-18);
        let [a, b] = start.anchors.map(|v| start.points[v as usize]);
        assert!(a == DVec2::ZERO && b.x > 0.0 && b.y.abs() < 1e-12);
    }

    #[test]
    fn the_disc_flips_nothing_whatever_the_surface() {
        for mesh in
            [surfaces::heel_band(60, 12), surfaces::cap(20, 20, 3.0), surfaces::ramp(60, 5, 9.0)]
        {
            let boundary = crate::disk::boundary_of_disk(&mesh).unwrap();
            let mut system = System::new(mesh.positions.len(), &mesh.triangles, &[]).unwrap();
            let points = disc(&mesh, &boundary, &mut system).unwrap();
            assert_eq!(flipped(&points, &mesh.triangles), 0);
            let radii: Vec<f64> = boundary.iter().map(|&v| points[v as usize].length()).collect();
            assert!(radii.iter().all(|r| (r - radii[0]).abs() < 1e-9 * r));
        }
    }

    #[test]
    fn both_starts_lead_to_the_same_layout() {
        let mesh = surfaces::heel_band(60, 12);
        let boundary = crate::disk::boundary_of_disk(&mesh).unwrap();
        let dirichlet = Dirichlet::new(&mesh);
        let mut system = System::new(mesh.positions.len(), &mesh.triangles, &[]).unwrap();
        let rounds = [crate::held::HeldEdges::new(&mesh, &[], &system, 1.0).unwrap()];
        let starts = Starts { mesh: &mesh, boundary: &boundary, dirichlet: &dirichlet };
        let conformal = starts.conformal(&mut system).unwrap();
        let disc = starts.disc(&mut system).unwrap();
        let mut energies = [conformal, disc].map(|start| {
            let end = crate::newton::descend(
                start,
                &dirichlet,
                &rounds,
                &mut system,
                500,
                crate::newton::Begin::Afresh,
            )
            .unwrap();
            assert!(end.converged);
            dirichlet.energy(&end.points)
        });
        energies.sort_by(f64::total_cmp);
        assert!(energies[1] - energies[0] < 1e-9 * energies[0]);
    }
}
