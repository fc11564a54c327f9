//! Small meshes with known measures, for the tests.
#![allow(dead_code, reason = "each test file uses its own part of these")]
#![allow(clippy::unwrap_used, reason = "a test may fail")]

use geometry::mesh::TriMesh;
use glam::DVec3;

/// A mesh from plain numbers.
pub(crate) fn mesh(positions: &[[f64; 3]], triangles: &[[u32; 3]]) -> TriMesh {
    let positions = positions.iter().map(|p| DVec3::from_array(*p)).collect();
    TriMesh { positions, triangles: triangles.to_vec() }
}

/// A box from the origin to `size`, outward, two triangles a side.
pub(crate) fn cuboid(size: DVec3) -> TriMesh {
    let positions = (0..8_u32)
        .map(|i| DVec3::new(f64::from(i & 1), f64::from(i >> 1 & 1), f64::from(i >> 2)) * size)
        .collect();
    let quads =
        [[0, 2, 3, 1], [4, 5, 7, 6], [0, 1, 5, 4], [2, 6, 7, 3], [0, 4, 6, 2], [1, 3, 7, 5]];
    let triangles = quads.iter().flat_map(|q| [[q[0], q[1], q[2]], [q[0], q[2], q[3]]]).collect();
    TriMesh { positions, triangles }
}

/// A ball of `radius` around the origin, outward: an octahedron with each side split `n` times.
pub(crate) fn ball(radius: f64, n: u32) -> TriMesh {
    let axes = [DVec3::X, DVec3::Y, DVec3::NEG_X, DVec3::NEG_Y, DVec3::Z, DVec3::NEG_Z];
    let sides: Vec<[u32; 3]> =
        (0..4).flat_map(|k| [[k, (k + 1) % 4, 4], [(k + 1) % 4, k, 5]]).collect();
    let mut ball = TriMesh { positions: axes.to_vec(), triangles: sides };
    for _ in 0..n {
        ball = geometry::mesh::refine::refine(&ball, 0.6 * longest_edge(&ball));
        for p in &mut ball.positions {
            *p = p.normalize();
        }
    }
    for p in &mut ball.positions {
        *p *= radius;
    }
    ball
}

/// A flat sheet in the plane z = 0, facing up, `nx` by `ny` squares of 1 mm, two triangles each.
pub(crate) fn sheet(nx: u32, ny: u32) -> TriMesh {
    let positions = (0..=ny)
        .flat_map(|y| (0..=nx).map(move |x| DVec3::new(f64::from(x), f64::from(y), 0.0)))
        .collect();
    let at = |x: u32, y: u32| y * (nx + 1) + x;
    let triangles = (0..ny)
        .flat_map(|y| (0..nx).map(move |x| (x, y)))
        .flat_map(|(x, y)| {
            let (a, b, c, d) = (at(x, y), at(x + 1, y), at(x + 1, y + 1), at(x, y + 1));
            [[a, b, c], [a, c, d]]
        })
        .collect();
    TriMesh { positions, triangles }
}

/// Both meshes in one, the second moved by `by`.
pub(crate) fn together(first: &TriMesh, second: &TriMesh, by: DVec3) -> TriMesh {
    let mut both = first.clone();
    let shift = both.positions.len() as u32;
    both.positions.extend(second.positions.iter().map(|p| *p + by));
    both.triangles.extend(second.triangles.iter().map(|t| t.map(|v| v + shift)));
    both
}

/// The length of the longest side of any triangle.
pub(crate) fn longest_edge(mesh: &TriMesh) -> f64 {
    (0..mesh.triangles.len() as u32)
        .flat_map(|f| {
            let [a, b, c] = mesh.corners(f);
            [a.distance(b), b.distance(c), c.distance(a)]
        })
        .fold(0.0, f64::max)
}

/// The surface of all triangles.
pub(crate) fn area(mesh: &TriMesh) -> f64 {
    mesh.face_areas().iter().sum()
}

/// The triangles as corner coordinates, each turned to begin at its smallest, all sorted: equal
/// for meshes that differ only in the order of vertices and triangles.
pub(crate) fn as_set(mesh: &TriMesh) -> Vec<[[f64; 3]; 3]> {
    let mut set: Vec<[[f64; 3]; 3]> = (0..mesh.triangles.len() as u32)
        .map(|f| {
            let corners = mesh.corners(f).map(|p| p.to_array());
            (0..3)
                .map(|k| [0, 1, 2].map(|i| corners[(i + k) % 3]))
                .min_by(|a, b| a.partial_cmp(b).unwrap())
                .unwrap()
        })
        .collect();
    set.sort_by(|a, b| a.partial_cmp(b).unwrap());
    set
}

/// Every edge of one triangle only, counted.
pub(crate) fn rim_edges(mesh: &TriMesh) -> usize {
    let adjacency = geometry::mesh::adjacency::Adjacency::new(mesh).unwrap();
    let sides = (0..mesh.triangles.len() as u32)
        .flat_map(|face| [0, 1, 2].map(|k| geometry::mesh::adjacency::Side { face, k }));
    sides.filter(|side| adjacency.across(*side).is_none()).count()
}
