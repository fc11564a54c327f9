//! Inner vertices of a plane piece that follow those of its lines while these are moved.

use geometry::mesh::TriMesh;
use glam::DVec2;

use crate::flattening::FlattenError;
use crate::numbering::Numbering;
use crate::system::System;

/// Moves the vertices of a mesh after some of them, its leaders: each of the others by the mean of
/// its neighbours' moves, so that a move fades out evenly between them (a discrete harmonic
/// function).
///
/// The equations are solved once; each move after that costs little.
pub struct Follower {
    numbering: Numbering,
    system: System,
    /// Under their new numbers.
    leaders: Vec<u32>,
    /// For each side of a triangle from a vertex that follows to one that leads: the first, and
    /// the place of the second among the leaders.
    pulls: Vec<(u32, u32)>,
}

impl Follower {
    /// Prepares `mesh`, of whose vertices `leaders` (no vertex twice) are told where to go.
    ///
    /// # Errors
    /// When a part of the mesh hangs together with no leader, or the arithmetic fails.
    ///
    /// # Panics
    /// When a leader is no vertex of the mesh.
    pub fn new(mesh: &TriMesh, leaders: &[u32]) -> Result<Self, FlattenError> {
        let unsolvable = |cause| FlattenError::Unsolvable { iteration: 0, cause };
        let n = mesh.positions.len();
        let numbering = Numbering::new(mesh, &[]).map_err(unsolvable)?;
        let triangles = numbering.renumbered(mesh).triangles;
        let mut system = System::new(n, &triangles, &[]).map_err(unsolvable)?;
        let leaders: Vec<u32> = leaders.iter().map(|v| numbering.new_vertex(*v)).collect();
        let mut place = vec![None; n];
        for (i, v) in (0..).zip(&leaders) {
            place[*v as usize] = Some(i);
        }
        let mut pulls = Vec::new();
        system.clear();
        system.add_differences(&triangles);
        for (i, j) in triangles.iter().flat_map(|t| [0, 1, 2].map(|k| (t[k], t[(k + 1) % 3]))) {
            match (place[i as usize], place[j as usize]) {
                (None, Some(leader)) => pulls.push((i, leader)),
                (Some(leader), None) => pulls.push((j, leader)),
                _ => {}
            }
        }
        let pinned: Vec<[bool; 2]> = place.iter().map(|p| [p.is_some(); 2]).collect();
        let none = vec![DVec2::ZERO; n];
        system.pin(&pinned, &none, &mut none.clone());
        system.factor().map_err(unsolvable)?;
        Ok(Self { numbering, system, leaders, pulls })
    }

    /// How far each vertex goes when the leaders go by `moves`, in the order in which they were
    /// named.
    ///
    /// # Panics
    /// When there are not as many moves as leaders.
    pub fn follow(&mut self, moves: &[DVec2]) -> Vec<DVec2> {
        assert_eq!(moves.len(), self.leaders.len(), "as many moves as leaders");
        let mut right = vec![DVec2::ZERO; self.numbering.vertex_count()];
        for (follower, leader) in &self.pulls {
            right[*follower as usize] += moves[*leader as usize];
        }
        for (v, by) in self.leaders.iter().zip(moves) {
            right[*v as usize] = *by;
        }
        self.numbering.to_old(&self.system.solve(&right))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::disk::boundary_of_disk;
    use crate::surfaces;

    /// Moves by a linear function are harmonic whatever the triangles of a regular grid, so the
    /// inner vertices must go by the same function.
    #[test]
    fn a_linear_move_is_followed_exactly() {
        let mesh = surfaces::cylinder(20, 10);
        let rim = boundary_of_disk(&mesh).unwrap();
        let by = |v: u32| {
            // The grid's columns and rows, which are straight lines of equal steps in it.
            let (column, row) = (f64::from(v % 20), f64::from(v / 20));
            DVec2::new(0.3 * column - 0.1 * row, 0.2 * row + 1.0)
        };
        let moves: Vec<DVec2> = rim.iter().map(|v| by(*v)).collect();
        let mut follower = Follower::new(&mesh, &rim).unwrap();
        for (v, went) in (0..).zip(follower.follow(&moves)) {
            assert!(went.distance(by(v)) < 1e-12, "{v}: {went} {}", by(v));
        }
    }

    #[test]
    fn no_vertex_goes_further_than_its_leaders() {
        let mesh = surfaces::heel_band(60, 12);
        let rim = boundary_of_disk(&mesh).unwrap();
        let mut moves = vec![DVec2::ZERO; rim.len()];
        moves[7] = DVec2::X;
        let mut follower = Follower::new(&mesh, &rim).unwrap();
        let went = follower.follow(&moves);
        assert_eq!(went[rim[7] as usize], DVec2::X);
        let inner = (0..).zip(&went).filter(|(v, _)| !rim.contains(v));
        assert!(inner.clone().all(|(_, by)| by.x > 0.0 && by.x < 1.0 && by.y.abs() < 1e-15));
    }

    #[test]
    fn without_a_leader_there_is_no_answer() {
        assert!(Follower::new(&surfaces::cylinder(4, 3), &[]).is_err());
    }
}
