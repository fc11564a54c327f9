//! 3MF: a zip package with the model as XML in it (3MF Core Specification 1.3, 3MF Consortium,
//! with the paths of its Production Extension 1.1).
//!
//! Read are the vertices and triangles of all objects that are built, where their transforms put
//! them. Materials, colours, textures, slices and beam lattices are passed over.

mod model;
mod package;
mod place;
mod source;
mod tag;

use std::collections::BTreeMap;

use self::model::Model;
use self::package::Package;
use super::{MeshFile, ReadError};
use crate::units::Unit;
use crate::warned::{Warned, Warning};

/// The most that a 3MF unpacks to, bytes, all of its parts that are read taken together: 1 GiB,
/// about 14 million triangles at 75 bytes each (a line for the triangle and half a line for a
/// vertex). A packed file may hold a thousand times its size; this keeps one that is damaged or
/// made to harm from filling the memory.
pub const MAX_UNPACKED_BYTES: u64 = 1 << 30;

/// Whether the file begins as a zip package does, be it an empty one.
pub(super) fn has_magic(bytes: &[u8]) -> bool {
    bytes.starts_with(b"PK\x03\x04") || bytes.starts_with(b"PK\x05\x06")
}

/// A unit that a 3MF may state.
#[derive(Debug, Clone, Copy, PartialEq)]
enum FileUnit {
    Kept(Unit),
    /// How many millimetres one is.
    Converted(f64),
}

impl FileUnit {
    fn parse(word: &str) -> Option<Self> {
        Some(match word {
            "micron" => Self::Converted(1e-3),
            "millimeter" => Self::Kept(Unit::Mm),
            "centimeter" => Self::Kept(Unit::Cm),
            "inch" => Self::Kept(Unit::In),
            "foot" => Self::Converted(304.8),
            "meter" => Self::Kept(Unit::M),
            _ => return None,
        })
    }
}

/// Reads a 3MF.
pub(super) fn read(name: &str, bytes: &[u8]) -> Result<Warned<MeshFile>, ReadError> {
    let mut package = Package::open(name, bytes)?;
    let root = package.root_model()?;
    let mut models: BTreeMap<String, Model> = BTreeMap::new();
    let mut wanted = vec![root.clone()];
    while let Some(part) = wanted.pop() {
        if models.contains_key(&part) {
            continue;
        }
        let model = package.model(&part)?;
        wanted.extend(model.paths().map(str::to_owned));
        models.insert(part, model);
    }
    let unit = same_unit(name, &root, &models)?;
    let mut read = place::assemble(name, &root, &models)?;
    read.warnings.splice(..0, unknown_extensions(name, &models));
    let mut mesh = read.value;
    let unit = match unit {
        FileUnit::Kept(unit) => unit,
        FileUnit::Converted(factor) => {
            mesh.positions.iter_mut().for_each(|p| *p *= factor);
            Unit::Mm
        }
    };
    if let Some(vertex) = mesh.positions.iter().position(|p| !p.is_finite()) {
        let place = format!("{root}, vertex {vertex} where it is built");
        return Err(ReadError::NotFinite { file: name.to_owned(), place });
    }
    Ok(Warned { value: MeshFile { mesh, unit: Some(unit) }, warnings: read.warnings })
}

fn same_unit(
    name: &str,
    root: &str,
    models: &BTreeMap<String, Model>,
) -> Result<FileUnit, ReadError> {
    let unit = models.get(root).map_or(FileUnit::Kept(Unit::Mm), |model| model.unit);
    match models.iter().find(|(_, model)| model.unit != unit) {
        None => Ok(unit),
        Some((part, _)) => Err(ReadError::BadModel {
            file: name.to_owned(),
            place: part.clone(),
            problem: format!("its unit differs from that of {root}"),
            mend: "export the mesh again, all of it in one unit".to_owned(),
        }),
    }
}

/// What to say about extensions that the file requires and that we do not know.
fn unknown_extensions(name: &str, models: &BTreeMap<String, Model>) -> Vec<Warning> {
    let required = models.iter().flat_map(|(part, model)| {
        model.unknown_extensions.iter().map(move |extension| (part, extension))
    });
    required
        .map(|(part, extension)| Warning {
            place: format!("{name}, {part}"),
            message: format!("requires the extension {extension}, which was passed over"),
            hint: "look whether the surface is whole; if not, export plain triangles".to_owned(),
        })
        .collect()
}
