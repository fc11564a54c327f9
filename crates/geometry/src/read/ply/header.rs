//! The header of a PLY file: which elements follow, of which properties, how many.

use super::super::ReadError;
use super::super::text::{parse, quoted, words};

/// How the body is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Encoding {
    Text,
    LittleEndian,
    BigEndian,
}

/// The type of one number.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Scalar {
    I8,
    U8,
    I16,
    U16,
    I32,
    U32,
    F32,
    F64,
}

impl Scalar {
    fn parse(word: &[u8]) -> Option<Self> {
        Some(match word {
            b"char" | b"int8" => Self::I8,
            b"uchar" | b"uint8" => Self::U8,
            b"short" | b"int16" => Self::I16,
            b"ushort" | b"uint16" => Self::U16,
            b"int" | b"int32" => Self::I32,
            b"uint" | b"uint32" => Self::U32,
            b"float" | b"float32" => Self::F32,
            b"double" | b"float64" => Self::F64,
            _ => return None,
        })
    }

    /// Bytes in a binary body.
    pub(super) const fn size(self) -> usize {
        match self {
            Self::I8 | Self::U8 => 1,
            Self::I16 | Self::U16 => 2,
            Self::I32 | Self::U32 | Self::F32 => 4,
            Self::F64 => 8,
        }
    }

    const fn is_integer(self) -> bool {
        !matches!(self, Self::F32 | Self::F64)
    }
}

/// One number, or a list with its length before it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Kind {
    Scalar(Scalar),
    List { count: Scalar, item: Scalar },
}

/// A named value of an element.
#[derive(Debug, Clone)]
pub(super) struct Property {
    pub(super) name: String,
    pub(super) kind: Kind,
}

/// A table of the file.
#[derive(Debug, Clone)]
pub(super) struct Element {
    pub(super) name: String,
    pub(super) count: u64,
    pub(super) properties: Vec<Property>,
    /// The header line that announces it.
    pub(super) line: usize,
}

impl Element {
    /// Which property lists the corners of a face.
    pub(super) fn index_list(&self) -> Option<usize> {
        self.properties.iter().position(|p| {
            matches!(p.kind, Kind::List { item, .. } if item.is_integer())
                && (p.name == "vertex_indices" || p.name == "vertex_index")
        })
    }
}

/// What the header says.
#[derive(Debug, Clone)]
pub(super) struct Header {
    pub(super) encoding: Encoding,
    pub(super) elements: Vec<Element>,
    /// Where the body begins.
    pub(super) bytes: usize,
    /// Lines of the header.
    pub(super) lines: usize,
}

impl Header {
    pub(super) fn parse(name: &str, bytes: &[u8]) -> Result<Self, ReadError> {
        let bad = |line: usize, problem: String| ReadError::BadHeader {
            file: name.to_owned(),
            line,
            problem,
        };
        let mut encoding = None;
        let mut elements: Vec<Element> = Vec::new();
        let (mut at, mut number) = (0, 0);
        while at < bytes.len() {
            let end =
                bytes[at..].iter().position(|&b| b == b'\n').map_or(bytes.len(), |n| at + n + 1);
            let line = bytes[at..end].trim_ascii();
            at = end;
            number += 1;
            let mut rest = words(line);
            match rest.next() {
                Some(b"ply") if number == 1 => {}
                _ if number == 1 => {
                    return Err(bad(1, "a PLY file begins with the word \"ply\"".to_owned()));
                }
                None | Some(b"comment" | b"obj_info") => {}
                Some(b"format") => {
                    encoding = Some(match rest.next() {
                        Some(b"ascii") => Encoding::Text,
                        Some(b"binary_little_endian") => Encoding::LittleEndian,
                        Some(b"binary_big_endian") => Encoding::BigEndian,
                        _ => return Err(bad(number, format!("unknown \"{}\"", quoted(line)))),
                    });
                }
                Some(b"element") => {
                    let element = element(rest, number)
                        .ok_or_else(|| bad(number, format!("unreadable \"{}\"", quoted(line))))?;
                    if elements.iter().any(|e| e.name == element.name) {
                        return Err(bad(number, format!("a second element \"{}\"", element.name)));
                    }
                    elements.push(element);
                }
                Some(b"property") => {
                    let property = property(rest)
                        .ok_or_else(|| bad(number, format!("unreadable \"{}\"", quoted(line))))?;
                    let element = elements.last_mut().ok_or_else(|| {
                        bad(number, "a property before the first element".to_owned())
                    })?;
                    element.properties.push(property);
                }
                Some(b"end_header") => {
                    let encoding =
                        encoding.ok_or_else(|| bad(number, "no \"format\" line".to_owned()))?;
                    check_elements(&elements).map_err(|(line, problem)| bad(line, problem))?;
                    return Ok(Self { encoding, elements, bytes: at, lines: number });
                }
                Some(_) => return Err(bad(number, format!("unknown \"{}\"", quoted(line)))),
            }
        }
        Err(bad(number, "the header has no \"end_header\"".to_owned()))
    }

    /// Refuses counts that the bytes of the body cannot hold, before anything is set aside.
    pub(super) fn check_promises(&self, name: &str, present: usize) -> Result<(), ReadError> {
        let mut needed: u128 = 0;
        for element in &self.elements {
            let least: usize = match self.encoding {
                // A digit and a space, or the end of the line.
                Encoding::Text => 2 * element.properties.len(),
                _ => element
                    .properties
                    .iter()
                    .map(|p| match p.kind {
                        Kind::Scalar(scalar) => scalar.size(),
                        Kind::List { count, .. } => count.size(),
                    })
                    .sum(),
            };
            needed += u128::from(element.count) * least as u128;
            // The last line of a text body may lack its end.
            if needed > present as u128 + 1 {
                return Err(ReadError::PromisesTooMuch {
                    file: name.to_owned(),
                    place: format!("line {}", element.line),
                    what: format!("of \"{}\"", element.name),
                    promised: element.count,
                    needed,
                    present,
                });
            }
        }
        Ok(())
    }
}

fn element<'w>(mut rest: impl Iterator<Item = &'w [u8]>, line: usize) -> Option<Element> {
    let name = String::from_utf8(rest.next()?.to_vec()).ok()?;
    let count = parse(rest.next()?)?;
    Some(Element { name, count, properties: Vec::new(), line })
}

fn property<'w>(mut rest: impl Iterator<Item = &'w [u8]>) -> Option<Property> {
    let kind = match rest.next()? {
        b"list" => {
            let count = Scalar::parse(rest.next()?).filter(|s| s.is_integer())?;
            Kind::List { count, item: Scalar::parse(rest.next()?)? }
        }
        word => Kind::Scalar(Scalar::parse(word)?),
    };
    Some(Property { name: String::from_utf8(rest.next()?.to_vec()).ok()?, kind })
}

fn check_elements(elements: &[Element]) -> Result<(), (usize, String)> {
    let vertex = elements
        .iter()
        .find(|e| e.name == "vertex")
        .ok_or((1, "no element \"vertex\"".to_owned()))?;
    for axis in ["x", "y", "z"] {
        let found = vertex.properties.iter().filter(|p| p.name == axis);
        if found.filter(|p| matches!(p.kind, Kind::Scalar(_))).count() != 1 {
            return Err((vertex.line, format!("\"vertex\" needs one number named \"{axis}\"")));
        }
    }
    Ok(())
}
