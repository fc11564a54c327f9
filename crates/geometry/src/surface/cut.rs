//! Cuts a surface apart along paths, into pieces that are disks wherever that is possible.

use std::collections::{BTreeMap, BTreeSet};

use glam::DVec3;

use super::crossings::with_crossings;
use super::{ImprintError, Imprinted, Surface, SurfacePath, imprint};
use crate::mesh::TriMesh;
use crate::mesh::adjacency::{Adjacency, AdjacencyError, Side};
use crate::mesh::edges::Sets;

/// A piece of a surface that was cut apart. Along a cut that ends inside it, or of which both
/// sides are its own, its vertices are doubled: the cut is open.
#[derive(Debug, Clone)]
pub struct Piece {
    /// The piece.
    pub mesh: TriMesh,
    /// For each vertex of the piece, the vertex of the imprinted mesh.
    pub vertices: Vec<u32>,
    /// For each triangle of the piece, the triangle of the imprinted mesh.
    pub faces: Vec<u32>,
    /// The edges of the piece as closed loops of its vertices, the piece on their left.
    pub loops: Vec<Vec<u32>>,
}

impl Piece {
    /// The area, mm².
    pub fn area(&self) -> f64 {
        self.mesh.face_areas().iter().sum()
    }

    /// The length of each of its edges, mm, in the order of `loops`.
    pub fn loop_lengths(&self) -> Vec<f64> {
        let at = |v: u32| self.mesh.positions[v as usize];
        let length = |ring: &Vec<u32>| {
            let next = ring.iter().cycle().skip(1);
            ring.iter().zip(next).map(|(a, b)| at(*a).distance(at(*b))).sum()
        };
        self.loops.iter().map(length).collect()
    }

    /// Vertices less edges plus triangles: 1 for a disk, 0 for a ring, 2 for a closed ball.
    pub fn euler(&self) -> i64 {
        let rim: usize = self.loops.iter().map(Vec::len).sum();
        let edges = (3 * self.mesh.triangles.len() + rim) / 2;
        self.mesh.positions.len() as i64 - edges as i64 + self.mesh.triangles.len() as i64
    }

    /// Whether the piece is a disk: one edge, which touches itself nowhere, and no handle.
    pub fn is_disk(&self) -> bool {
        self.loops.len() == 1 && self.euler() == 1
    }
}

/// A surface cut apart.
#[derive(Debug, Clone)]
pub struct Cut {
    /// The mesh with the paths among its edges, still in one.
    pub imprinted: Imprinted,
    /// The pieces, in the order of their smallest triangle.
    pub pieces: Vec<Piece>,
}

/// Why a surface could not be cut.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum CutError {
    /// The path has no length.
    #[error("line {path} has {points} different points, at least {least} are needed")]
    TooShort {
        /// Which of the paths, from 0.
        path: usize,
        /// Different points on it.
        points: usize,
        /// Points needed.
        least: usize,
    },
    /// Lines lie so close along each other that their crossings could not be told apart.
    #[error("lines lie over each other at {place:.2} mm; draw them apart there, or once")]
    Tangled {
        /// Where, mm.
        place: DVec3,
    },
    /// A path could not be made an edge of the mesh.
    #[error(transparent)]
    Imprint(#[from] ImprintError),
    /// The surface is not sound.
    #[error(transparent)]
    Surface(#[from] AdjacencyError),
}

/// Cuts `surface` along `paths`: closed ones, open ones from edge to edge, or ones that end
/// inside. They may cross, touch and run along each other; common points are added where they
/// do. Points move by at most a millionth of their triangle's side.
///
/// The areas of the pieces sum to that of the surface, but for rounding. A piece is a disk unless
/// the surface and the paths leave it a hole or a handle: a ring stays a ring.
///
/// # Errors
/// When a path has no length, neighbours on it share no triangle, or lines lie over each other.
pub fn cut_along(surface: &Surface<'_>, paths: &[SurfacePath]) -> Result<Cut, CutError> {
    let crossed = with_crossings(surface, paths).map_err(|face| {
        let place = surface.mesh.corners(face).into_iter().sum::<DVec3>() / 3.0;
        CutError::Tangled { place }
    })?;
    for (path, line) in crossed.iter().enumerate() {
        let least = if line.closed { 3 } else { 2 };
        if line.points.len() < least {
            return Err(CutError::TooShort { path, points: line.points.len(), least });
        }
    }
    let imprinted = imprint(surface, &crossed)?;
    let mut walls: BTreeSet<[u32; 2]> = BTreeSet::new();
    for (chain, line) in imprinted.paths.iter().zip(&crossed) {
        let back = if line.closed { chain.first() } else { None };
        let next = chain.iter().skip(1).chain(back);
        walls.extend(chain.iter().zip(next).map(|(a, b)| [*a.min(b), *a.max(b)]));
    }
    let pieces = apart(&imprinted.mesh, &walls)?;
    Ok(Cut { imprinted, pieces })
}

/// Opens the mesh along `walls`. Corners of triangles stay joined where the triangles share an
/// edge that is no wall.
fn apart(mesh: &TriMesh, walls: &BTreeSet<[u32; 2]>) -> Result<Vec<Piece>, AdjacencyError> {
    let adjacency = Adjacency::new(mesh)?;
    let mut corners = Sets::new(3 * mesh.triangles.len());
    let mut bodies = Sets::new(mesh.triangles.len());
    for (face, t) in mesh.triangles.iter().enumerate() {
        for k in 0..3_u8 {
            let (a, b) = (t[k as usize], t[(k as usize + 1) % 3]);
            let Some(other) = adjacency.across(Side { face: face as u32, k }) else { continue };
            if walls.contains(&[a.min(b), a.max(b)]) {
                continue;
            }
            bodies.join(face as u32, other.face);
            let corner = |face: u32, k: u8| 3 * face + u32::from(k % 3);
            corners.join(corner(face as u32, k), corner(other.face, other.k + 1));
            corners.join(corner(face as u32, k + 1), corner(other.face, other.k));
        }
    }
    let mut members: BTreeMap<u32, Vec<u32>> = BTreeMap::new();
    for face in 0..mesh.triangles.len() as u32 {
        members.entry(bodies.find(face)).or_default().push(face);
    }
    members.into_values().map(|faces| piece(mesh, &mut corners, faces)).collect()
}

fn piece(mesh: &TriMesh, corners: &mut Sets, faces: Vec<u32>) -> Result<Piece, AdjacencyError> {
    let mut number: BTreeMap<u32, u32> = BTreeMap::new();
    let mut piece = Piece {
        mesh: TriMesh::default(),
        vertices: Vec::new(),
        faces: Vec::new(),
        loops: Vec::new(),
    };
    for face in &faces {
        let t = mesh.triangles[*face as usize];
        let triangle = [0, 1, 2].map(|k| {
            let corner = corners.find(3 * face + k);
            *number.entry(corner).or_insert_with(|| {
                piece.vertices.push(t[k as usize]);
                piece.mesh.positions.push(mesh.positions[t[k as usize] as usize]);
                piece.vertices.len() as u32 - 1
            })
        });
        piece.mesh.triangles.push(triangle);
    }
    piece.faces = faces;
    piece.loops = Adjacency::new(&piece.mesh)?.boundary_loops(&piece.mesh);
    Ok(piece)
}
