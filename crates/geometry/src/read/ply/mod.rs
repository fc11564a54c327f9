//! PLY: described by its header, in text or binary of either byte order.
//!
//! Read are `x y z` of `vertex`, the index list of `face`, and that of `tristrips`, which public
//! scans have in place of faces; other properties and elements are passed over (G. Turk 1994, "The
//! PLY Polygon File Format"; strips by common practice: -1 ends one, every second triangle is
//! turned).

mod header;
mod values;

use glam::DVec3;

use self::header::{Element, Encoding, Header, Kind, Property};
use self::values::{Binary, Text, Values};
use super::ReadError;
use super::obj::polygon_warnings;
use crate::mesh::TriMesh;
use crate::warned::{Warned, Warning};

/// Rows that memory is set aside for at once, whatever the header says: a row of a few bytes
/// in the file takes up to 24 here.
const RESERVED: u64 = 1 << 20;

/// Whether the file begins with the format's own word on a line of its own.
pub(super) fn has_magic(bytes: &[u8]) -> bool {
    bytes.strip_prefix(b"ply").is_some_and(|rest| {
        let line = rest.split(|b| matches!(b, b'\n' | b'\r')).next().unwrap_or_default();
        line.trim_ascii().is_empty() && line.len() < rest.len()
    })
}

/// Reads a PLY.
pub(super) fn read(name: &str, bytes: &[u8]) -> Result<Warned<TriMesh>, ReadError> {
    let header = Header::parse(name, bytes)?;
    let body = &bytes[header.bytes..];
    header.check_promises(name, body.len())?;
    match header.encoding {
        Encoding::Text => read_body(name, &header, &mut Text::new(name, body, header.lines)),
        Encoding::LittleEndian => {
            read_body(name, &header, &mut Binary::new(name, bytes, header.bytes, false))
        }
        Encoding::BigEndian => {
            read_body(name, &header, &mut Binary::new(name, bytes, header.bytes, true))
        }
    }
}

fn read_body(
    name: &str,
    header: &Header,
    values: &mut impl Values,
) -> Result<Warned<TriMesh>, ReadError> {
    let mut mesh = TriMesh::default();
    let (mut polygons, mut too_few) = (0, 0);
    let vertices = header.elements.iter().find(|e| e.name == "vertex").map_or(0, |e| e.count);
    for element in &header.elements {
        match element.name.as_str() {
            "vertex" => read_vertices(name, element, values, &mut mesh.positions)?,
            "face" | "tristrips" if element.index_list().is_some() => {
                let is_strips = element.name == "tristrips";
                let triangles = Vec::new();
                let mut faces = Faces { name, vertices, is_strips, triangles, polygons, too_few };
                faces.read(element, values)?;
                (polygons, too_few) = (faces.polygons, faces.too_few);
                mesh.triangles.append(&mut faces.triangles);
            }
            _ => skip_element(element, values)?,
        }
    }
    let mut read = Warned::clean(mesh);
    read.warnings = polygon_warnings(name, polygons, too_few);
    let left = values.left();
    if left > 0 {
        read.warnings.push(Warning {
            place: name.to_owned(),
            message: format!("{left} bytes after the last element were left out"),
            hint: "check that nothing is missing; if so, export again".to_owned(),
        });
    }
    Ok(read)
}

fn read_vertices(
    name: &str,
    element: &Element,
    values: &mut impl Values,
    positions: &mut Vec<DVec3>,
) -> Result<(), ReadError> {
    positions.reserve(element.count.min(RESERVED) as usize);
    let axes: Vec<Option<usize>> = element
        .properties
        .iter()
        .map(|p| ["x", "y", "z"].iter().position(|axis| *axis == p.name))
        .collect();
    for i in 0..element.count {
        values.begin(element, i)?;
        let mut point = [0.0; 3];
        for (property, axis) in element.properties.iter().zip(&axes) {
            match (property.kind, axis) {
                (Kind::Scalar(scalar), Some(axis)) => point[*axis] = values.scalar(scalar)?,
                _ => skip_property(property, values)?,
            }
        }
        let point = DVec3::from(point);
        if !point.is_finite() {
            let place = format!("vertex {i} ({})", values.place());
            return Err(ReadError::NotFinite { file: name.to_owned(), place });
        }
        positions.push(point);
    }
    Ok(())
}

struct Faces<'a> {
    name: &'a str,
    vertices: u64,
    /// Whether each row holds strips rather than one face.
    is_strips: bool,
    triangles: Vec<[u32; 3]>,
    polygons: usize,
    too_few: usize,
}

impl Faces<'_> {
    fn read(&mut self, element: &Element, values: &mut impl Values) -> Result<(), ReadError> {
        self.triangles.reserve(element.count.min(RESERVED) as usize);
        let wanted = element.index_list();
        for i in 0..element.count {
            values.begin(element, i)?;
            for (k, property) in element.properties.iter().enumerate() {
                match property.kind {
                    Kind::List { count, item } if Some(k) == wanted => {
                        let corners = values.count(count, item)?;
                        if self.is_strips {
                            self.strips(i, corners, values, item)?;
                        } else {
                            self.fan(i, corners, values, item)?;
                        }
                    }
                    _ => skip_property(property, values)?,
                }
            }
        }
        Ok(())
    }

    fn fan(
        &mut self,
        face: u64,
        corners: u64,
        values: &mut impl Values,
        item: header::Scalar,
    ) -> Result<(), ReadError> {
        let mut ring: [u32; 2] = [0; 2];
        for k in 0..corners {
            let index = values.integer(item)?;
            let corner = self.corner("face", face, index, values)?;
            match k {
                0 | 1 => ring[k as usize] = corner,
                _ => {
                    self.triangles.push([ring[0], ring[1], corner]);
                    ring[1] = corner;
                }
            }
        }
        self.too_few += usize::from(corners < 3);
        self.polygons += usize::from(corners > 3);
        Ok(())
    }

    fn strips(
        &mut self,
        row: u64,
        corners: u64,
        values: &mut impl Values,
        item: header::Scalar,
    ) -> Result<(), ReadError> {
        let mut last: [u32; 2] = [0; 2];
        let mut along = 0_u64;
        for _ in 0..corners {
            let index = values.integer(item)?;
            if index == -1 {
                along = 0;
                continue;
            }
            let corner = self.corner("row of strips", row, index, values)?;
            let [a, b] = last;
            // Strips repeat corners to turn; such triangles have no area.
            if along >= 2 && a != b && b != corner && corner != a {
                self.triangles.push(if along.is_multiple_of(2) {
                    [a, b, corner]
                } else {
                    [b, a, corner]
                });
            }
            last = [b, corner];
            along += 1;
        }
        Ok(())
    }

    fn corner(
        &self,
        what: &str,
        row: u64,
        index: i64,
        values: &impl Values,
    ) -> Result<u32, ReadError> {
        u32::try_from(index).ok().filter(|v| u64::from(*v) < self.vertices).ok_or_else(|| {
            ReadError::IndexOutOfRange {
                file: self.name.to_owned(),
                place: format!("{what} {row} ({})", values.place()),
                index,
                range: format!("there are {} vertices, counted from 0", self.vertices),
            }
        })
    }
}

fn skip_element(element: &Element, values: &mut impl Values) -> Result<(), ReadError> {
    if element.properties.is_empty() {
        return Ok(());
    }
    for i in 0..element.count {
        values.begin(element, i)?;
        for property in &element.properties {
            skip_property(property, values)?;
        }
    }
    Ok(())
}

fn skip_property(property: &Property, values: &mut impl Values) -> Result<(), ReadError> {
    match property.kind {
        Kind::Scalar(scalar) => values.skip(scalar, 1),
        Kind::List { count, item } => {
            let n = values.count(count, item)?;
            values.skip(item, n)
        }
    }
}
