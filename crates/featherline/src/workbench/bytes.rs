//! Meshes and walls as bytes, as the page reads them: little-endian, places in single precision
//! about an origin in double.

use geometry::mesh::TriMesh;
use glam::DVec3;
use shoe::stiffener::strain_picture;
use shoe::stiffener::wall::Wall;

/// A mesh: counts, origin, places, corners.
pub(super) fn mesh(mesh: &TriMesh) -> Vec<u8> {
    let (low, high) = mesh.bounds().unwrap_or_default();
    let origin = (low + high) / 2.0;
    let mut bytes = Vec::with_capacity(32 + 12 * (mesh.positions.len() + mesh.triangles.len()));
    counts(&mut bytes, mesh);
    for value in origin.to_array() {
        bytes.extend(value.to_le_bytes());
    }
    places(&mut bytes, &mesh.positions, origin);
    corners(&mut bytes, mesh);
    bytes
}

/// A piece: its telling as JSON, then its wall on the last and flat, with the strain.
pub(super) fn piece(json: &str, wall: &Wall) -> Vec<u8> {
    let mesh = &wall.on_last;
    let mut bytes = Vec::with_capacity(json.len() + 32 * mesh.triangles.len());
    let padded = json.len().next_multiple_of(4);
    bytes.extend((padded as u32).to_le_bytes());
    bytes.extend(json.as_bytes());
    bytes.resize(4 + padded, b' ');
    counts(&mut bytes, mesh);
    places(&mut bytes, &mesh.positions, DVec3::ZERO);
    for place in &wall.flat {
        for value in place.to_array() {
            bytes.extend((value as f32).to_le_bytes());
        }
    }
    for singular in &wall.strain.singular_values {
        let percent = strain_picture::on_the_last(*singular);
        bytes.extend((percent as f32).to_le_bytes());
    }
    corners(&mut bytes, mesh);
    bytes
}

fn counts(bytes: &mut Vec<u8>, mesh: &TriMesh) {
    for count in [mesh.positions.len(), mesh.triangles.len()] {
        bytes.extend((count as u32).to_le_bytes());
    }
}

fn places(bytes: &mut Vec<u8>, places: &[DVec3], origin: DVec3) {
    for place in places {
        for value in (*place - origin).to_array() {
            bytes.extend((value as f32).to_le_bytes());
        }
    }
}

fn corners(bytes: &mut Vec<u8>, mesh: &TriMesh) {
    for corner in mesh.triangles.iter().flatten() {
        bytes.extend(corner.to_le_bytes());
    }
}
