//! A model part: its objects, and which of them are built where.

use std::collections::BTreeMap;
use std::io::Read;

use glam::{DAffine3, DVec3};
use quick_xml::events::{BytesStart, Event};

use super::super::ReadError;
use super::super::text::{parse, quoted};
use super::FileUnit;
use super::package::{Tags, bad_model, part_name};
use super::tag::{attributes, local, split};
use crate::mesh::TriMesh;
use crate::units::Unit;

/// The namespace of models (3MF Core Specification 1.3, appendix B.2).
const CORE: &str = "http://schemas.microsoft.com/3dmanufacturing/core/2015/02";

/// How the namespaces of all extensions begin; told without it.
const FAMILY: &str = "http://schemas.microsoft.com/3dmanufacturing/";

/// Extensions whose content we read, or may pass over without losing a triangle: production
/// (paths), materials and colours, and sets of triangles.
const KNOWN: [&str; 3] = [
    "http://schemas.microsoft.com/3dmanufacturing/production/2015/06",
    "http://schemas.microsoft.com/3dmanufacturing/material/2015/02",
    "http://schemas.microsoft.com/3dmanufacturing/trianglesets/2021/07",
];

/// How deep tags may lie in one another. A sound model has six levels, its extensions a few more.
const MAX_DEPTH: usize = 64;

/// Unknown extensions that are told; a sound file requires one or two.
const MAX_TOLD: usize = 8;

/// One part of a package.
pub(super) struct Model {
    pub(super) unit: FileUnit,
    pub(super) objects: BTreeMap<u32, Object>,
    /// What is built.
    pub(super) items: Vec<Use>,
    /// The names of extensions that are required and not known.
    pub(super) unknown_extensions: Vec<String>,
}

/// A mesh, or a group of other objects.
#[derive(Default)]
pub(super) struct Object {
    pub(super) mesh: TriMesh,
    pub(super) components: Vec<Use>,
    /// Whether it only holds up others while they are printed.
    pub(super) is_support: bool,
}

/// An object put somewhere.
pub(super) struct Use {
    /// The part that the object is in, if another.
    pub(super) part: Option<String>,
    pub(super) object: u32,
    pub(super) placed_from_object: DAffine3,
    /// The line that says so.
    pub(super) line: usize,
}

/// Where in a model we are.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Level {
    Model,
    Resources,
    Object,
    Mesh,
    Vertices,
    Triangles,
    Components,
    Build,
    /// Nothing that is read lies below.
    Other,
}

impl Model {
    /// The other parts that this one names.
    pub(super) fn paths(&self) -> impl Iterator<Item = &str> {
        let components = self.objects.values().flat_map(|object| &object.components);
        components.chain(&self.items).filter_map(|u| u.part.as_deref())
    }

    pub(super) fn read<R: Read>(tags: &mut Tags<'_, R>) -> Result<Self, ReadError> {
        let mut reading = Reading {
            file: tags.file,
            part: tags.part,
            line: 1,
            model: Self {
                unit: FileUnit::Kept(Unit::Mm),
                objects: BTreeMap::new(),
                items: Vec::new(),
                unknown_extensions: Vec::new(),
            },
            prefix: String::new(),
            object: (0, Object::default()),
            meshes: 0,
        };
        let mut levels: Vec<Level> = Vec::new();
        let mut seen_root = false;
        while let Some(event) = tags.next()? {
            match event {
                Event::Start(ref tag) | Event::Empty(ref tag) => {
                    let level = reading.open(levels.last().copied(), tag)?;
                    seen_root = true;
                    if matches!(event, Event::Start(_)) {
                        levels.push(level);
                    } else {
                        reading.close(level)?;
                    }
                }
                Event::End(_) => {
                    if let Some(level) = levels.pop() {
                        reading.close(level)?;
                    }
                }
                _ => {}
            }
            reading.line = tags.line();
            if levels.len() > MAX_DEPTH {
                return Err(reading.bad(format!("more than {MAX_DEPTH} tags inside one another")));
            }
        }
        if !levels.is_empty() || !seen_root {
            return Err(reading.bad("the part ends before the end of its model".to_owned()));
        }
        Ok(reading.model)
    }
}

/// A model on the way.
struct Reading<'a> {
    file: &'a str,
    part: &'a str,
    line: usize,
    model: Model,
    /// What stands before the names of the core, usually nothing.
    prefix: String,
    object: (u32, Object),
    /// Meshes in this object.
    meshes: usize,
}

impl Reading<'_> {
    fn bad(&self, problem: String) -> ReadError {
        bad_model(self.file, self.part, self.line, problem)
    }

    fn place(&self) -> String {
        format!("{}, line {}, object {}", self.part, self.line, self.object.0)
    }

    fn open(&mut self, above: Option<Level>, tag: &BytesStart<'_>) -> Result<Level, ReadError> {
        let Some(above) = above else { return self.open_model(tag).map(|()| Level::Model) };
        let (prefix, name) = split(tag.name().into_inner());
        if prefix != self.prefix {
            return Ok(Level::Other);
        }
        Ok(match (above, name) {
            (Level::Vertices, "vertex") => self.vertex(tag)?,
            (Level::Triangles, "triangle") => self.triangle(tag)?,
            (Level::Model, "resources") => Level::Resources,
            (Level::Model, "build") => Level::Build,
            (Level::Resources, "object") => self.open_object(tag)?,
            (Level::Object, "mesh") => {
                self.meshes += 1;
                if self.meshes > 1 {
                    let id = self.object.0;
                    return Err(self.bad(format!("object {id} has a second mesh")));
                }
                Level::Mesh
            }
            (Level::Object, "components") => Level::Components,
            (Level::Mesh, "vertices") => Level::Vertices,
            (Level::Mesh, "triangles") => Level::Triangles,
            (Level::Components, "component") => {
                let component = self.placed(tag)?;
                self.object.1.components.push(component);
                Level::Other
            }
            (Level::Build, "item") => {
                let item = self.placed(tag)?;
                self.model.items.push(item);
                Level::Other
            }
            _ => Level::Other,
        })
    }

    fn close(&mut self, level: Level) -> Result<(), ReadError> {
        if level != Level::Object {
            return Ok(());
        }
        let (id, object) = std::mem::take(&mut self.object);
        self.meshes = 0;
        match self.model.objects.insert(id, object) {
            None => Ok(()),
            Some(_) => Err(self.bad(format!("a second object {id}"))),
        }
    }

    fn open_model(&mut self, tag: &BytesStart<'_>) -> Result<(), ReadError> {
        if local(tag) != "model" {
            let found = quoted(tag.name().into_inner().as_bytes());
            return Err(self.bad(format!("expected the tag \"model\", found \"{found}\"")));
        }
        let (prefix, _) = split(tag.name().into_inner());
        prefix.clone_into(&mut self.prefix);
        let mut spaces: BTreeMap<String, String> = BTreeMap::new();
        let mut required = String::new();
        for (key, value) in attributes(tag) {
            match key {
                "unit" => {
                    self.model.unit = FileUnit::parse(&value).ok_or_else(|| {
                        let found = quoted(value.as_bytes());
                        self.bad(format!("the unit \"{found}\" is none of the format's"))
                    })?;
                }
                "requiredextensions" => required = value.into_owned(),
                "xmlns" => drop(spaces.insert(String::new(), value.into_owned())),
                _ => {
                    if let Some(prefix) = key.strip_prefix("xmlns:") {
                        spaces.insert(prefix.to_owned(), value.into_owned());
                    }
                }
            }
        }
        if spaces.get(prefix).is_none_or(|space| space != CORE) {
            let found = spaces.get(prefix).map_or(String::new(), |s| quoted(s.as_bytes()));
            let problem = format!("the namespace \"{found}\" is not that of a 3MF model ({CORE})");
            return Err(self.bad(problem));
        }
        for prefix in required.split_ascii_whitespace() {
            let space = spaces.get(prefix).map_or(prefix, String::as_str);
            let short = space.strip_prefix(FAMILY).unwrap_or(space);
            let name = format!("\"{}\"", quoted(short.as_bytes()));
            let unknown = &mut self.model.unknown_extensions;
            if !KNOWN.contains(&space) && !unknown.contains(&name) && unknown.len() < MAX_TOLD {
                unknown.push(name);
            }
        }
        Ok(())
    }

    fn open_object(&mut self, tag: &BytesStart<'_>) -> Result<Level, ReadError> {
        let mut id = None;
        let mut is_support = false;
        for (key, value) in attributes(tag) {
            match key {
                "id" => id = Some(self.number(key, &value)?),
                "type" => is_support = matches!(&*value, "support" | "solidsupport"),
                _ => {}
            }
        }
        let id = id.ok_or_else(|| self.bad("an object without its id".to_owned()))?;
        self.object = (id, Object { is_support, ..Object::default() });
        Ok(Level::Object)
    }

    fn vertex(&mut self, tag: &BytesStart<'_>) -> Result<Level, ReadError> {
        let mut point = [None; 3];
        for (key, value) in attributes(tag) {
            if let Some(axis) = ["x", "y", "z"].iter().position(|a| *a == key) {
                point[axis] = Some(self.number::<f64>(key, &value)?);
            }
        }
        let [Some(x), Some(y), Some(z)] = point else {
            return Err(self.bad("a vertex without its x, y and z".to_owned()));
        };
        let point = DVec3::new(x, y, z);
        if !point.is_finite() {
            return Err(ReadError::NotFinite { file: self.file.to_owned(), place: self.place() });
        }
        self.object.1.mesh.positions.push(point);
        Ok(Level::Other)
    }

    fn triangle(&mut self, tag: &BytesStart<'_>) -> Result<Level, ReadError> {
        let mut corners = [None; 3];
        for (key, value) in attributes(tag) {
            if let Some(k) = ["v1", "v2", "v3"].iter().position(|name| *name == key) {
                corners[k] = Some(self.number::<i64>(key, &value)?);
            }
        }
        let [Some(a), Some(b), Some(c)] = corners else {
            return Err(self.bad("a triangle without its v1, v2 and v3".to_owned()));
        };
        let known = self.object.1.mesh.positions.len();
        let index = |index: i64| {
            u32::try_from(index).ok().filter(|v| (*v as usize) < known).ok_or_else(|| {
                ReadError::IndexOutOfRange {
                    file: self.file.to_owned(),
                    place: self.place(),
                    index,
                    range: format!("there are {known} vertices before it, counted from 0"),
                }
            })
        };
        let triangle = [index(a)?, index(b)?, index(c)?];
        self.object.1.mesh.triangles.push(triangle);
        Ok(Level::Other)
    }

    /// A component or a build item.
    fn placed(&self, tag: &BytesStart<'_>) -> Result<Use, ReadError> {
        let (mut object, mut part, mut transform) = (None, None, DAffine3::IDENTITY);
        for (key, value) in attributes(tag) {
            match split(key) {
                ("", "objectid") => object = Some(self.number(key, &value)?),
                ("", "transform") => transform = self.transform(&value)?,
                (prefix, "path") if !prefix.is_empty() => part = Some(part_name(&value)),
                _ => {}
            }
        }
        let object =
            object.ok_or_else(|| self.bad("an object is used without its objectid".to_owned()))?;
        Ok(Use { part, object, placed_from_object: transform, line: self.line })
    }

    /// Twelve numbers, row by row, for points written as rows (3MF Core Specification 1.3,
    /// section 3.3): the same order as columns for points written as columns.
    fn transform(&self, text: &str) -> Result<DAffine3, ReadError> {
        let numbers: Option<Vec<f64>> =
            text.split_ascii_whitespace().take(13).map(|w| parse(w.as_bytes())).collect();
        let columns: Option<[f64; 12]> = numbers.and_then(|n| n.try_into().ok());
        let columns = columns.filter(|c| c.iter().all(|v| v.is_finite())).ok_or_else(|| {
            let found = quoted(text.as_bytes());
            self.bad(format!("a transform needs twelve numbers, found \"{found}\""))
        })?;
        let transform = DAffine3::from_cols_array(&columns);
        if transform.matrix3.determinant() == 0.0 {
            return Err(self.bad("a transform that makes everything flat".to_owned()));
        }
        Ok(transform)
    }

    fn number<T: std::str::FromStr>(&self, key: &str, value: &str) -> Result<T, ReadError> {
        parse(value.trim_ascii().as_bytes()).ok_or_else(|| {
            let found = quoted(value.as_bytes());
            self.bad(format!("\"{key}\" should be a number, found \"{found}\""))
        })
    }
}
