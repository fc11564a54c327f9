//! The neighbours of triangles against a search through all of them.

#![allow(clippy::unwrap_used, reason = "a test may fail so")]

mod shapes;

use geometry::mesh::TriMesh;
use geometry::mesh::adjacency::{Adjacency, AdjacencyError, Side};
use glam::DVec3;
use proptest::prelude::*;
use shapes::{ball, cuboid, sheet};

/// The two ends of a side, in its direction.
fn ends(mesh: &TriMesh, side: Side) -> (u32, u32) {
    let t = mesh.triangles[side.face as usize];
    (t[side.k as usize], t[(side.k as usize + 1) % 3])
}

fn sides(mesh: &TriMesh) -> Vec<Side> {
    let faces = 0..mesh.triangles.len() as u32;
    faces.flat_map(|face| [0, 1, 2].map(|k| Side { face, k })).collect()
}

fn assert_as_searched(mesh: &TriMesh) {
    let all = sides(mesh);
    // The first side, in the order of the triangles, whose direction was there before.
    let again = (0..all.len())
        .find(|i| all[..*i].iter().any(|before| ends(mesh, *before) == ends(mesh, all[*i])));
    let found = Adjacency::new(mesh);
    if let Some(i) = again {
        let (a, b) = ends(mesh, all[i]);
        assert_eq!(found.unwrap_err(), AdjacencyError::NotManifold(a, b));
        return;
    }
    let found = found.unwrap();
    for side in &all {
        let (a, b) = ends(mesh, *side);
        let other = all.iter().find(|other| ends(mesh, **other) == (b, a));
        assert_eq!(found.across(*side), other.copied(), "{side:?}");
    }
}

#[test]
fn neighbours_are_those_a_search_finds() {
    let folded = TriMesh { positions: vec![DVec3::ZERO; 3], triangles: vec![[0, 0, 1], [1, 2, 0]] };
    for mesh in [ball(1.0, 2), cuboid(DVec3::ONE), sheet(4, 3), folded, TriMesh::default()] {
        assert_as_searched(&mesh);
    }
}

proptest! {
    /// Branching, doubled and inverted sides, corners that are repeated: all at random.
    #[test]
    fn neighbours_are_those_a_search_finds_whatever_the_triangles(
        triangles in prop::collection::vec(prop::array::uniform3(0_u32..9), 0..8)
    ) {
        assert_as_searched(&TriMesh { positions: vec![DVec3::ZERO; 9], triangles });
    }
}
