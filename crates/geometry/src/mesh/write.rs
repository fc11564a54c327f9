//! Writes a mesh: binary STL, OBJ and PLY. Coordinates as they are; the formats state no unit.

use std::io::{self, Write};

use super::TriMesh;

/// Writes a binary STL. The format holds f32 only: coordinates are rounded to about seven
/// digits (0.00002 mm at 300 mm). Vertices that no triangle uses are lost.
///
/// # Errors
/// Those of `out`.
///
/// # Panics
/// When a triangle names a vertex that does not exist.
pub fn write_stl_binary(mesh: &TriMesh, mut out: impl Write) -> io::Result<()> {
    // Not "solid": programs that look only at the first word would read it as text.
    let mut head = [b' '; 80];
    head[..26].copy_from_slice(b"binary stl, unit by reader");
    out.write_all(&head)?;
    out.write_all(&(mesh.triangles.len() as u32).to_le_bytes())?;
    for face in 0..mesh.triangles.len() as u32 {
        let mut record = Vec::with_capacity(50);
        let normal = mesh.area_vector(face).normalize_or_zero();
        for p in std::iter::once(normal).chain(mesh.corners(face)) {
            for value in p.to_array() {
                record.extend((value as f32).to_le_bytes());
            }
        }
        record.extend([0, 0]);
        out.write_all(&record)?;
    }
    Ok(())
}

/// Writes an OBJ, each coordinate with the digits that bring the same f64 back.
///
/// # Errors
/// Those of `out`.
pub fn write_obj(mesh: &TriMesh, mut out: impl Write) -> io::Result<()> {
    for p in &mesh.positions {
        writeln!(out, "v {} {} {}", p.x, p.y, p.z)?;
    }
    for [a, b, c] in &mesh.triangles {
        let one_more = |v: &u32| u64::from(*v) + 1;
        writeln!(out, "f {} {} {}", one_more(a), one_more(b), one_more(c))?;
    }
    Ok(())
}

/// Writes a little endian binary PLY with coordinates as doubles: nothing is rounded.
///
/// # Errors
/// Those of `out`.
pub fn write_ply(mesh: &TriMesh, mut out: impl Write) -> io::Result<()> {
    write!(
        out,
        "ply\nformat binary_little_endian 1.0\nelement vertex {}\nproperty double x\n\
         property double y\nproperty double z\nelement face {}\n\
         property list uchar uint vertex_indices\nend_header\n",
        mesh.positions.len(),
        mesh.triangles.len()
    )?;
    for p in &mesh.positions {
        for value in p.to_array() {
            out.write_all(&value.to_le_bytes())?;
        }
    }
    for t in &mesh.triangles {
        out.write_all(&[3])?;
        for v in t {
            out.write_all(&v.to_le_bytes())?;
        }
    }
    Ok(())
}
