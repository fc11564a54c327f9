//! Whether a surface is a disk, the only shape that lies flat in one piece.

use geometry::mesh::TriMesh;
use geometry::mesh::adjacency::{Adjacency, AdjacencyError, Side};

/// A triangle whose height is below this part of its longest side has no direction across that
/// side that double precision could still tell.
const THINNEST: f64 = 1e-10;

/// What the surface is instead of a disk.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum DiskError {
    /// There are no triangles.
    #[error("the surface is empty: it has no triangles")]
    Empty,
    /// A triangle names a vertex that does not exist.
    #[error("triangle {face} names vertex {vertex}, but there are only {count} (from 0)")]
    NoSuchVertex {
        /// The triangle.
        face: u32,
        /// The vertex it names.
        vertex: u32,
        /// How many there are.
        count: usize,
    },
    /// A coordinate is no number.
    #[error("vertex {vertex} has a coordinate that is no finite number; repair it{}", from_0(*.vertex))]
    NotFinite {
        /// The vertex.
        vertex: u32,
    },
    /// A triangle is a line or a point.
    #[error("triangle {face} has no area; remove or repair it{}", from_0(*.face))]
    NoArea {
        /// The triangle.
        face: u32,
    },
    /// Sides do not pair up.
    #[error("{0} (vertices counted from 0; OBJ files count from 1)")]
    NotManifold(#[from] AdjacencyError),
    /// A vertex belongs to no triangle.
    #[error("vertex {vertex} belongs to no triangle; remove loose vertices{}", from_0(*.vertex))]
    LooseVertex {
        /// The first such vertex.
        vertex: u32,
    },
    /// The surface hangs together by one vertex.
    #[error("the surface touches itself at vertex {vertex} only; part it or join it there{}", from_0(*.vertex))]
    Pinched {
        /// The vertex.
        vertex: u32,
    },
    /// There are several surfaces.
    #[error("the surface is in {pieces} pieces; flatten them one at a time")]
    Pieces {
        /// How many.
        pieces: usize,
    },
    /// There is no boundary.
    #[error("the surface is closed: it has no boundary; cut it open first")]
    Closed,
    /// There is a hole, or the surface is a tube.
    #[error("the surface has {} boundary loops instead of one; fill the holes or cut it open", in_words(*loops))]
    Loops {
        /// How many.
        loops: usize,
    },
    /// There is a handle.
    #[error("the surface has {handles} handle(s), like a cup; cut it open first")]
    Handles {
        /// How many.
        handles: usize,
    },
}

/// How a number counts, and what the same one is called where counting begins with 1.
fn from_0(index: u32) -> String {
    format!(" (counted from 0; from 1, as in OBJ files, it is {})", u64::from(index) + 1)
}

fn in_words(count: usize) -> String {
    const WORDS: [&str; 8] = ["two", "three", "four", "five", "six", "seven", "eight", "nine"];
    count.checked_sub(2).and_then(|i| WORDS.get(i)).map_or(count.to_string(), |w| w.to_string())
}

/// The boundary of `mesh`, counter-clockwise seen from outside, if it is a disk: one piece,
/// manifold, consistently oriented, every vertex used, every triangle with area, one boundary
/// loop, no handle.
pub(crate) fn boundary_of_disk(mesh: &TriMesh) -> Result<Vec<u32>, DiskError> {
    check_numbers(mesh)?;
    let adjacency = Adjacency::new(mesh)?;
    check_areas(mesh)?;
    check_vertices(mesh, &adjacency)?;
    let pieces = count_pieces(mesh, &adjacency);
    if pieces > 1 {
        return Err(DiskError::Pieces { pieces });
    }
    let mut loops = adjacency.boundary_loops(mesh);
    if loops.len() > 1 {
        return Err(DiskError::Loops { loops: loops.len() });
    }
    let boundary = loops.pop().ok_or(DiskError::Closed)?;
    // Every inner edge has two sides and every boundary edge one, and the boundary of a
    // manifold has as many edges as vertices.
    let edges = (3 * mesh.triangles.len() + boundary.len()) / 2;
    let holes_and_handles = 1 + edges as i64 - (mesh.positions.len() + mesh.triangles.len()) as i64;
    if holes_and_handles != 0 {
        return Err(DiskError::Handles { handles: (holes_and_handles / 2) as usize });
    }
    Ok(boundary)
}

fn check_numbers(mesh: &TriMesh) -> Result<(), DiskError> {
    if mesh.triangles.is_empty() {
        return Err(DiskError::Empty);
    }
    let count = mesh.positions.len();
    for (face, t) in mesh.triangles.iter().enumerate() {
        if let Some(&vertex) = t.iter().find(|&&v| v as usize >= count) {
            return Err(DiskError::NoSuchVertex { face: face as u32, vertex, count });
        }
    }
    match mesh.positions.iter().position(|p| !p.is_finite()) {
        Some(vertex) => Err(DiskError::NotFinite { vertex: vertex as u32 }),
        None => Ok(()),
    }
}

/// Whether all places are numbers and all triangles have area, where the rest is known.
pub(crate) fn check_shapes(mesh: &TriMesh) -> Result<(), DiskError> {
    check_numbers(mesh)?;
    check_areas(mesh)
}

fn check_areas(mesh: &TriMesh) -> Result<(), DiskError> {
    for face in 0..mesh.triangles.len() as u32 {
        let [a, b, c] = mesh.corners(face);
        let longest_squared =
            a.distance_squared(b).max(b.distance_squared(c)).max(c.distance_squared(a));
        let double_area = mesh.area_vector(face).length();
        // Written so that an overflow to infinity or NaN is refused as well.
        if !(double_area > THINNEST * longest_squared && double_area.is_finite()) {
            return Err(DiskError::NoArea { face });
        }
    }
    Ok(())
}

/// Every vertex is used, and the triangles around it form one fan.
fn check_vertices(mesh: &TriMesh, adjacency: &Adjacency) -> Result<(), DiskError> {
    let mut corners = vec![0u32; mesh.positions.len()];
    let mut first = vec![None; mesh.positions.len()];
    for (face, t) in mesh.triangles.iter().enumerate() {
        for k in 0..3u8 {
            let v = t[k as usize] as usize;
            corners[v] += 1;
            first[v].get_or_insert(Side { face: face as u32, k });
        }
    }
    for (vertex, first) in first.into_iter().enumerate() {
        let Some(first) = first else {
            return Err(DiskError::LooseVertex { vertex: vertex as u32 });
        };
        if fan_size(adjacency, first) != corners[vertex] {
            return Err(DiskError::Pinched { vertex: vertex as u32 });
        }
    }
    Ok(())
}

/// How many triangles are reached by turning about the corner where `first` begins.
fn fan_size(adjacency: &Adjacency, first: Side) -> u32 {
    let before = |side: Side| Side { face: side.face, k: (side.k + 2) % 3 };
    let after = |side: Side| Side { face: side.face, k: (side.k + 1) % 3 };
    let mut size = 1;
    let mut at = first;
    while let Some(next) = adjacency.across(before(at)) {
        if next == first {
            return size;
        }
        size += 1;
        at = next;
    }
    at = first;
    while let Some(next) = adjacency.across(at) {
        size += 1;
        at = after(next);
    }
    size
}

fn count_pieces(mesh: &TriMesh, adjacency: &Adjacency) -> usize {
    let mut seen = vec![false; mesh.triangles.len()];
    let mut pieces = 0;
    for seed in 0..mesh.triangles.len() {
        if seen[seed] {
            continue;
        }
        pieces += 1;
        seen[seed] = true;
        let mut waiting = vec![seed as u32];
        while let Some(face) = waiting.pop() {
            for k in 0..3 {
                if let Some(other) = adjacency.across(Side { face, k })
                    && !std::mem::replace(&mut seen[other.face as usize], true)
                {
                    waiting.push(other.face);
                }
            }
        }
    }
    pieces
}
