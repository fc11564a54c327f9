//! Reads a surface from a mesh file: STL (binary and text), OBJ, PLY and 3MF.
//!
//! The content decides which format it is, the ending of the name only where the content leaves
//! it open. Coordinates stay in the file's own unit and frame, in f64: none is rounded to f32.
//! Every size is checked against the bytes at hand before memory is set aside for it.
//!
//! The readers are our own. Measured on the libraries at hand: `stl_io` 0.11 rounds text
//! coordinates to f32, names no line, and refuses a binary file whose header begins with
//! "solid"; `tobj` 4.0 names no line and knows no line continuation; `ply-rs-bw` 4.0 is safe, but
//! refuses numbers such as `.5`, names no byte, and keeps each element as a map of names.
//! For 3MF, `zip` unpacks and `quick-xml` splits into tags.

mod error;
mod obj;
mod ply;
mod stl;
mod text;
mod threemf;

use std::fs::File;
use std::io::{ErrorKind, Read};
use std::path::Path;

pub use error::ReadError;
pub use threemf::MAX_UNPACKED_BYTES;

use crate::mesh::TriMesh;
use crate::units::Unit;
use crate::warned::{Warned, Warning};

/// The largest file that is read, bytes: 2 GiB, about 43 million triangles of binary STL. Keeps
/// a file given by mistake from filling the memory of a small machine.
pub const MAX_FILE_BYTES: u64 = 2 << 30;

/// What a mesh file holds.
#[derive(Debug, Clone, PartialEq)]
pub struct MeshFile {
    /// The surface, in the unit and coordinates of the file.
    pub mesh: TriMesh,
    /// The unit that the file itself states; only 3MF does.
    pub unit: Option<Unit>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Format {
    StlBinary,
    StlText,
    Obj,
    Ply,
    ThreeMf,
}

/// Reads the mesh in `path`, in the file's own unit and coordinates (the micron and the foot,
/// which only 3MF knows, become millimetres).
///
/// The corners of an STL file, which has no shared vertices, are joined where their coordinates
/// are exactly equal. Polygons are split into triangles by a fan from their first corner, with a
/// warning. Nothing else is repaired: see [`tidy`](crate::mesh::tidy::tidy).
///
/// # Errors
/// When the file is missing, empty, cut short or not what it says it is.
pub fn read_mesh(path: &Path) -> Result<Warned<MeshFile>, ReadError> {
    let name = path.display().to_string();
    read_mesh_bytes(&name, &file_bytes(path, &name)?)
}

/// Reads a mesh from the bytes of a file. `name` stands in messages; its ending helps to tell
/// the format where the content does not.
///
/// # Errors
/// As [`read_mesh`].
pub fn read_mesh_bytes(name: &str, bytes: &[u8]) -> Result<Warned<MeshFile>, ReadError> {
    let file = || name.to_owned();
    if bytes.is_empty() {
        return Err(ReadError::Empty { file: file() });
    }
    if bytes.len() as u64 > MAX_FILE_BYTES {
        return Err(too_large(name, bytes.len() as u64));
    }
    let ending = ending(name);
    let format = detect(bytes, &ending).ok_or_else(|| ReadError::UnknownFormat { file: file() })?;
    let mut read = match format {
        Format::StlBinary => stl::read_binary(name, bytes).map(without_unit),
        Format::StlText => stl::read_text(name, bytes).map(without_unit),
        Format::Obj => obj::read(name, bytes).map(without_unit),
        Format::Ply => ply::read(name, bytes).map(without_unit),
        Format::ThreeMf => threemf::read(name, bytes),
    }
    .map_err(|error| match error {
        // Many files are zip packages; only the name tells that this was to be a 3MF.
        ReadError::NotAPackage { .. } if ending != "3mf" => {
            ReadError::UnknownFormat { file: file() }
        }
        error => seen_as_cut_short(error, bytes),
    })?;
    let mesh = &read.value.mesh;
    if mesh.triangles.is_empty() {
        return Err(ReadError::NoTriangles { file: file(), vertices: mesh.positions.len() });
    }
    let (title, usual) = match format {
        Format::StlBinary | Format::StlText => ("an STL", "stl"),
        Format::Obj => ("an OBJ", "obj"),
        Format::Ply => ("a PLY", "ply"),
        Format::ThreeMf => ("a 3MF", "3mf"),
    };
    if ["stl", "obj", "ply", "3mf"].contains(&ending.as_str()) && ending != usual {
        read.warnings.push(Warning {
            place: file(),
            message: format!("the name ends in .{ending}, but the content is {title} file"),
            hint: format!("it was read as {title} file; rename it to .{usual}"),
        });
    }
    Ok(read)
}

fn without_unit(read: Warned<TriMesh>) -> Warned<MeshFile> {
    let value = MeshFile { mesh: read.value, unit: None };
    Warned { value, warnings: read.warnings }
}

/// A bad line that is the last one and has no end was most likely cut: say that instead.
fn seen_as_cut_short(error: ReadError, bytes: &[u8]) -> ReadError {
    match error {
        ReadError::BadLine { file, line, found, .. } if text::is_unended_last(bytes, line) => {
            ReadError::TextCutShort { file, line, within: format!("this line, at \"{found}\"") }
        }
        error => error,
    }
}

fn file_bytes(path: &Path, name: &str) -> Result<Vec<u8>, ReadError> {
    let file = || name.to_owned();
    let io = |cause: std::io::Error| match cause.kind() {
        ErrorKind::NotFound => ReadError::Missing { file: file() },
        _ => ReadError::Io { file: file(), cause },
    };
    let about = std::fs::metadata(path).map_err(io)?;
    if about.is_dir() {
        return Err(ReadError::Folder { file: file() });
    }
    if !about.is_file() {
        return Err(ReadError::Special { file: file() });
    }
    if about.len() > MAX_FILE_BYTES {
        return Err(too_large(name, about.len()));
    }
    let mut bytes = Vec::new();
    // The file may grow while it is read; one byte beyond the limit is enough to notice.
    File::open(path).map_err(io)?.take(MAX_FILE_BYTES + 1).read_to_end(&mut bytes).map_err(io)?;
    Ok(bytes)
}

fn too_large(name: &str, bytes: u64) -> ReadError {
    ReadError::TooLarge { file: name.to_owned(), bytes, limit: MAX_FILE_BYTES }
}

fn ending(name: &str) -> String {
    Path::new(name)
        .extension()
        .map(|e| e.to_string_lossy().to_ascii_lowercase())
        .unwrap_or_default()
}

fn detect(bytes: &[u8], ending: &str) -> Option<Format> {
    if threemf::has_magic(bytes) {
        return Some(Format::ThreeMf);
    }
    if ply::has_magic(bytes) {
        return Some(Format::Ply);
    }
    // Before "solid": many scanners write that word into the header of a binary file.
    if stl::has_binary_size(bytes) {
        return Some(Format::StlBinary);
    }
    let is_text = text::looks_like_text(bytes);
    if stl::begins_with_solid(bytes) {
        return Some(if is_text { Format::StlText } else { Format::StlBinary });
    }
    if is_text && obj::begins_like_obj(bytes) {
        return Some(Format::Obj);
    }
    match (ending, is_text) {
        ("stl", true) => Some(Format::StlText),
        ("stl", false) => Some(Format::StlBinary),
        ("ply", _) => Some(Format::Ply),
        ("obj", true) => Some(Format::Obj),
        ("3mf", _) => Some(Format::ThreeMf),
        _ => None,
    }
}
