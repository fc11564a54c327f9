//! Puts the objects of a 3MF where they are built, all into one mesh.

use std::collections::BTreeMap;

use glam::DAffine3;

use super::super::ReadError;
use super::model::{Model, Object, Use};
use super::package::bad_model;
use crate::mesh::TriMesh;
use crate::warned::{Warned, Warning};

/// The most triangles and vertices after every object is put everywhere it is used: those of the
/// largest binary STL that is read. A few lines can repeat an object a million times.
const MAX_PLACED: u64 = 64_000_000;

/// How deep groups may lie in groups. Far above what is drawn; keeps the stack small.
const MAX_NESTED: usize = 64;

/// An object, by the part it is in and its number there.
type Address<'m> = (&'m str, u32);

/// An object with something in it.
struct Full<'m> {
    object: &'m Object,
    /// Its components that hold something.
    components: Vec<(Address<'m>, &'m Use)>,
    /// Triangles and vertices, with those of its components.
    size: u64,
}

struct Assembly<'m> {
    file: &'m str,
    models: &'m BTreeMap<String, Model>,
    /// `None` while its components are being looked at.
    known: BTreeMap<Address<'m>, Option<Full<'m>>>,
    supports: usize,
}

/// The mesh of all that the model `root` builds. Without build items, every object that is in no
/// group is taken, with a warning.
pub(super) fn assemble<'m>(
    file: &'m str,
    root: &'m str,
    models: &'m BTreeMap<String, Model>,
) -> Result<Warned<TriMesh>, ReadError> {
    let mut assembly = Assembly { file, models, known: BTreeMap::new(), supports: 0 };
    let mut warnings = Vec::new();
    let mut items: Vec<(Address<'m>, DAffine3, usize)> = Vec::new();
    if let Some(model) = models.get(root) {
        for item in &model.items {
            let address = (item.part.as_deref().unwrap_or(root), item.object);
            items.push((address, item.placed_from_object, item.line));
        }
        if items.is_empty() && !model.objects.is_empty() {
            let used = |id: u32| {
                let mut uses = model.objects.values().flat_map(|o| &o.components);
                uses.any(|u| u.part.is_none() && u.object == id)
            };
            let loose = model.objects.keys().filter(|id| !used(**id));
            items.extend(loose.map(|id| ((root, *id), DAffine3::IDENTITY, 1)));
            warnings.push(Warning {
                place: format!("{file}, {root}"),
                message: "nothing is marked to be built, so every object was read".to_owned(),
                hint: "look whether the surface is the last alone".to_owned(),
            });
        }
    }
    let mut size: u64 = 0;
    for (address, _, line) in &items {
        size = size.saturating_add(assembly.measure(*address, root, *line, 0)?);
        if size > MAX_PLACED {
            return Err(ReadError::TooManyCopies {
                file: file.to_owned(),
                place: format!("{root}, line {line}"),
                limit: MAX_PLACED,
            });
        }
    }
    let mut mesh = TriMesh::default();
    for (address, placed_from_object, _) in &items {
        assembly.put(*address, *placed_from_object, &mut mesh);
    }
    if assembly.supports > 0 {
        warnings.push(Warning {
            place: file.to_owned(),
            message: format!("supports for printing, left out: {}", assembly.supports),
            hint: "they are no part of the last; nothing needs to be done".to_owned(),
        });
    }
    Ok(Warned { value: mesh, warnings })
}

impl<'m> Assembly<'m> {
    /// Finds what an object holds, once; returns its size.
    fn measure(
        &mut self,
        address: Address<'m>,
        from: &str,
        line: usize,
        depth: usize,
    ) -> Result<u64, ReadError> {
        let bad = |problem: String| bad_model(self.file, from, line, problem);
        let (part, id) = address;
        match self.known.get(&address) {
            Some(Some(full)) => return Ok(full.size),
            Some(None) => return Err(bad(format!("object {id} is a part of itself"))),
            None if depth > MAX_NESTED => {
                return Err(bad(format!("more than {MAX_NESTED} groups inside one another")));
            }
            None => {}
        }
        let object = self.models.get(part).and_then(|model| model.objects.get(&id));
        let Some(object) = object else {
            return Err(bad(format!("object {id} is used, but there is none in {part}")));
        };
        self.known.insert(address, None);
        let mut full = Full { object, components: Vec::new(), size: 0 };
        if object.is_support {
            self.supports += 1;
        } else {
            full.size = (object.mesh.positions.len() + object.mesh.triangles.len()) as u64;
            for component in &object.components {
                let inner = (component.part.as_deref().unwrap_or(part), component.object);
                let size = self.measure(inner, part, component.line, depth + 1)?;
                if size > 0 {
                    full.components.push((inner, component));
                    full.size = full.size.saturating_add(size);
                }
            }
        }
        let size = full.size;
        self.known.insert(address, Some(full));
        Ok(size)
    }

    /// Adds an object that has been measured. Mirrored triangles are turned to face outward.
    fn put(&self, address: Address<'m>, placed_from_object: DAffine3, mesh: &mut TriMesh) {
        let Some(Some(full)) = self.known.get(&address) else { return };
        if full.size == 0 {
            return;
        }
        let before = mesh.positions.len() as u32;
        let mirrored = placed_from_object.matrix3.determinant() < 0.0;
        let object = &full.object.mesh;
        if placed_from_object == DAffine3::IDENTITY {
            mesh.positions.extend(&object.positions);
        } else {
            let placed = object.positions.iter().map(|p| placed_from_object.transform_point3(*p));
            mesh.positions.extend(placed);
        }
        mesh.triangles.extend(object.triangles.iter().map(|[a, b, c]| {
            let [a, b, c] = [a + before, b + before, c + before];
            if mirrored { [a, c, b] } else { [a, b, c] }
        }));
        for (inner, component) in &full.components {
            self.put(*inner, placed_from_object * component.placed_from_object, mesh);
        }
    }
}
