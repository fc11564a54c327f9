//! STL, binary and text: loose triangles, whose corners are joined where exactly equal.

use std::collections::HashMap;

use glam::DVec3;

use super::ReadError;
use super::text::{Place, lines, quoted, without_mark, words};
use crate::mesh::TriMesh;
use crate::warned::{Warned, Warning};

/// 80 bytes of header and 4 of count, before the first triangle.
const HEAD: usize = 84;
/// A normal, three corners, two spare bytes.
const RECORD: usize = 50;

/// Whether the size is exactly that of the number of triangles in the header.
pub(super) fn has_binary_size(bytes: &[u8]) -> bool {
    promised(bytes)
        .is_some_and(|n| HEAD as u64 + RECORD as u64 * u64::from(n) == bytes.len() as u64)
}

/// Whether the first word is "solid".
pub(super) fn begins_with_solid(bytes: &[u8]) -> bool {
    let text = without_mark(bytes).trim_ascii_start();
    text.get(..5).is_some_and(|w| w.eq_ignore_ascii_case(b"solid"))
        && text.get(5).is_none_or(u8::is_ascii_whitespace)
}

fn promised(bytes: &[u8]) -> Option<u32> {
    let count: [u8; 4] = bytes.get(HEAD - 4..HEAD)?.try_into().ok()?;
    Some(u32::from_le_bytes(count))
}

/// Reads a binary STL.
pub(super) fn read_binary(name: &str, bytes: &[u8]) -> Result<Warned<TriMesh>, ReadError> {
    let file = || name.to_owned();
    let Some(promised) = promised(bytes) else {
        return Err(ReadError::StlTooShort { file: file(), bytes: bytes.len() });
    };
    let (records, _) = bytes[HEAD..].as_chunks::<RECORD>();
    let count = promised as usize;
    if count > records.len() {
        let present = records.len() as u32;
        return Err(ReadError::StlCutShort { file: file(), bytes: bytes.len(), promised, present });
    }
    let mut joined = Joined::with_room_for(count);
    for (i, record) in records[..count].iter().enumerate() {
        let (numbers, _) = record[12..48].as_chunks::<4>();
        let coordinate = |k: usize| f64::from(f32::from_le_bytes(numbers[k]));
        let corners =
            [0, 3, 6].map(|k| DVec3::new(coordinate(k), coordinate(k + 1), coordinate(k + 2)));
        if !corners.iter().all(|p| p.is_finite()) {
            let byte = HEAD + i * RECORD;
            let place = format!("triangle {} (byte {byte})", i + 1);
            return Err(ReadError::NotFinite { file: file(), place });
        }
        joined.push(corners);
    }
    let mut read = Warned::clean(joined.mesh);
    let left = bytes.len() - HEAD - count * RECORD;
    if left > 0 {
        read.warnings.push(Warning {
            place: format!("{name}, byte {}", bytes.len() - left),
            message: format!("{left} bytes after the last of {count} triangles were left out"),
            hint: "check that nothing is missing; if so, export again".to_owned(),
        });
    }
    Ok(read)
}

/// Reads an STL in text form; several solids are read as one mesh.
pub(super) fn read_text(name: &str, bytes: &[u8]) -> Result<Warned<TriMesh>, ReadError> {
    let file = || name.to_owned();
    let bytes = without_mark(bytes);
    let mut joined = Joined::with_room_for(0);
    let mut corners: Vec<DVec3> = Vec::with_capacity(3);
    let (mut facets, mut in_facet, mut ended, mut last) = (0_usize, false, true, 1);
    for (line_number, line) in lines(bytes) {
        let place = Place { file: name, line: line_number };
        let mut rest = words(line);
        let Some(word) = rest.next() else { continue };
        last = line_number;
        match word.to_ascii_lowercase().as_slice() {
            b"solid" => ended = false,
            b"endsolid" | b"end" => ended = true,
            b"facet" if in_facet => {
                return Err(place.bad("\"endfacet\" first", line, "export again as binary STL"));
            }
            b"facet" => {
                in_facet = true;
                facets += 1;
            }
            b"vertex" if in_facet && corners.len() < 3 => {
                let mut numbers = [0.0; 3];
                for value in &mut numbers {
                    let word = rest.next().ok_or_else(|| {
                        place.bad("three coordinates", line, "export again as binary STL")
                    })?;
                    *value = place.number(word)?;
                }
                if numbers.iter().any(|v| !v.is_finite()) {
                    let place = format!("line {line_number}, triangle {facets}");
                    return Err(ReadError::NotFinite { file: file(), place });
                }
                corners.push(DVec3::from(numbers));
            }
            b"vertex" => {
                let expected = "a triangle of three corners inside a facet";
                return Err(place.bad(expected, line, "export again as binary STL"));
            }
            b"endfacet" => {
                let three: [DVec3; 3] = corners.as_slice().try_into().map_err(|_| {
                    place.bad(
                        "three corners before \"endfacet\"",
                        line,
                        "export again as binary STL",
                    )
                })?;
                joined.push(three);
                corners.clear();
                in_facet = false;
            }
            b"outer" | b"endloop" | b"color" => {}
            _ if facets == 0 => {
                let place = format!("line {line_number}, \"{}\"", quoted(line));
                return Err(ReadError::NoFacets { file: file(), place });
            }
            _ => {
                let expected = "a line of an STL in text form";
                return Err(place.bad(expected, line, "export again as binary STL"));
            }
        }
    }
    if in_facet {
        let within = format!("triangle {facets}");
        return Err(ReadError::TextCutShort { file: file(), line: last, within });
    }
    if facets == 0 {
        return Err(ReadError::NoFacets { file: file(), place: format!("line 1 to {last}") });
    }
    let mut read = Warned::clean(joined.mesh);
    if !ended {
        read.warnings.push(Warning {
            place: format!("{name}, line {last}"),
            message: format!("there is no \"endsolid\" after triangle {facets}"),
            hint: "the file may be cut short: look whether the mesh is whole".to_owned(),
        });
    }
    Ok(read)
}

/// Triangles whose corners are joined where their coordinates are exactly equal.
struct Joined {
    mesh: TriMesh,
    known: HashMap<[u64; 3], u32>,
}

impl Joined {
    fn with_room_for(triangles: usize) -> Self {
        // A closed surface has about half as many vertices as triangles.
        let known = HashMap::with_capacity(triangles / 2);
        let mesh = TriMesh { positions: Vec::new(), triangles: Vec::with_capacity(triangles) };
        Self { mesh, known }
    }

    fn push(&mut self, corners: [DVec3; 3]) {
        let positions = &mut self.mesh.positions;
        let triangle = corners.map(|corner| {
            // Adding zero makes -0 and 0 the same vertex.
            let p = corner + DVec3::ZERO;
            *self.known.entry(p.to_array().map(f64::to_bits)).or_insert_with(|| {
                positions.push(p);
                (positions.len() - 1) as u32
            })
        });
        self.mesh.triangles.push(triangle);
    }
}
