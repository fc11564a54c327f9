//! OBJ: vertices and faces in text; everything else in it is passed over.
//!
//! All objects and groups of the file are read into one mesh.

use glam::DVec3;

use super::ReadError;
use super::text::{Place, is_unended_last, lines, parse, without_mark, words};
use crate::mesh::TriMesh;
use crate::warned::{Warned, Warning};

/// The words that a line of an OBJ file may begin with and that come first in practice.
const FIRST_WORDS: [&[u8]; 10] =
    [b"v", b"vn", b"vt", b"vp", b"f", b"o", b"g", b"s", b"mtllib", b"usemtl"];

/// Whether the first line that is no comment begins with a word of the format.
pub(super) fn begins_like_obj(bytes: &[u8]) -> bool {
    lines(without_mark(bytes))
        .filter_map(|(_, line)| words(line).next())
        .find(|word| !word.starts_with(b"#"))
        .is_some_and(|word| FIRST_WORDS.contains(&word))
}

/// Reads an OBJ.
pub(super) fn read(name: &str, bytes: &[u8]) -> Result<Warned<TriMesh>, ReadError> {
    let mut reading = Reading::default();
    let mut continued: Option<(usize, Vec<u8>)> = None;
    for (number, line) in lines(without_mark(bytes)) {
        // A comment may end in a folder name such as C:\scans\: that continues nothing.
        let comment = continued.is_none() && line.starts_with(b"#");
        if let Some(part) = line.strip_suffix(b"\\").filter(|_| !comment) {
            let (_, whole) = continued.get_or_insert_with(|| (number, Vec::new()));
            whole.extend_from_slice(part);
            whole.push(b' ');
        } else if let Some((first, mut whole)) = continued.take() {
            whole.extend_from_slice(line);
            reading.line(Place { file: name, line: first }, &whole)?;
        } else {
            reading.line(Place { file: name, line: number }, line)?;
        }
    }
    if let Some((first, whole)) = continued {
        reading.line(Place { file: name, line: first }, &whole)?;
    }
    if reading.too_few > 0 && is_unended_last(bytes, reading.too_few_at) {
        let within = "a face".to_owned();
        return Err(ReadError::TextCutShort {
            file: name.to_owned(),
            line: reading.too_few_at,
            within,
        });
    }
    reading.finish(name)
}

#[derive(Default)]
struct Reading {
    mesh: TriMesh,
    polygons: usize,
    too_few: usize,
    /// The last line of a face with too few corners.
    too_few_at: usize,
    /// The largest index that was named before its vertex came, and the line that names it.
    ahead: Option<(i64, usize)>,
}

impl Reading {
    fn line(&mut self, place: Place<'_>, line: &[u8]) -> Result<(), ReadError> {
        let mut rest = words(line);
        match rest.next() {
            Some(b"v") => {
                self.mesh.positions.push(DVec3::from(place.point(line, rest)?));
                Ok(())
            }
            Some(b"f") => self.face(place, rest),
            _ => Ok(()),
        }
    }

    fn face<'w>(
        &mut self,
        place: Place<'_>,
        corners: impl Iterator<Item = &'w [u8]>,
    ) -> Result<(), ReadError> {
        let mut ring: [u32; 2] = [0; 2];
        let mut count = 0_usize;
        for word in corners.take_while(|w| !w.starts_with(b"#")) {
            let corner = self.corner(place, word)?;
            match count {
                0 | 1 => ring[count] = corner,
                _ => {
                    self.mesh.triangles.push([ring[0], ring[1], corner]);
                    ring[1] = corner;
                }
            }
            count += 1;
        }
        if count < 3 {
            self.too_few += 1;
            self.too_few_at = place.line;
        }
        self.polygons += usize::from(count > 3);
        Ok(())
    }

    fn corner(&mut self, place: Place<'_>, word: &[u8]) -> Result<u32, ReadError> {
        let index = word.split(|&b| b == b'/').next().unwrap_or_default();
        let written: i64 = parse(index).ok_or_else(|| {
            place.bad("the number of a vertex, such as 7 or 7/1/3", word, "export the mesh again")
        })?;
        let known = self.mesh.positions.len() as i64;
        let from_one = if written < 0 { known.saturating_add(written) + 1 } else { written };
        if from_one < 1 || from_one > i64::from(u32::MAX) {
            return Err(out_of_range(place.file, place.line, written, known));
        }
        if from_one > known && self.ahead.is_none_or(|(largest, _)| from_one > largest) {
            self.ahead = Some((from_one, place.line));
        }
        Ok((from_one - 1) as u32)
    }

    fn finish(self, name: &str) -> Result<Warned<TriMesh>, ReadError> {
        let known = self.mesh.positions.len() as i64;
        if let Some((index, line)) = self.ahead.filter(|(index, _)| *index > known) {
            return Err(out_of_range(name, line, index, known));
        }
        let mut read = Warned::clean(self.mesh);
        read.warnings = polygon_warnings(name, self.polygons, self.too_few);
        Ok(read)
    }
}

fn out_of_range(file: &str, line: usize, index: i64, known: i64) -> ReadError {
    ReadError::IndexOutOfRange {
        file: file.to_owned(),
        place: format!("line {line}"),
        index,
        range: format!("there are {known} vertices, counted from 1"),
    }
}

/// What to say about faces that were no triangles.
pub(super) fn polygon_warnings(name: &str, polygons: usize, too_few: usize) -> Vec<Warning> {
    let mut warnings = Vec::new();
    if polygons > 0 {
        warnings.push(Warning {
            place: name.to_owned(),
            message: format!(
                "faces with more than three corners, split into triangles: {polygons}"
            ),
            hint: "flat or nearly flat faces lose nothing; for others export triangles".to_owned(),
        });
    }
    if too_few > 0 {
        warnings.push(Warning {
            place: name.to_owned(),
            message: format!("faces with fewer than three corners, left out: {too_few}"),
            hint: "they have no area; nothing needs to be done".to_owned(),
        });
    }
    warnings
}
