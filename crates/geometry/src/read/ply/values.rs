//! The numbers of a PLY body, one after another, from text or from binary.

use super::super::ReadError;
use super::super::text::{Place, lines, parse, words};
use super::header::{Element, Scalar};

/// A body to be read from front to back.
pub(super) trait Values {
    /// Goes to row `index` of `element`.
    fn begin(&mut self, element: &Element, index: u64) -> Result<(), ReadError>;
    /// The next number.
    fn scalar(&mut self, scalar: Scalar) -> Result<f64, ReadError>;
    /// The next number, which must be whole.
    fn integer(&mut self, scalar: Scalar) -> Result<i64, ReadError>;
    /// The length of a list of `item`, made sure to fit into what is left.
    fn count(&mut self, count: Scalar, item: Scalar) -> Result<u64, ReadError>;
    /// Passes over `n` numbers.
    fn skip(&mut self, scalar: Scalar, n: u64) -> Result<(), ReadError>;
    /// Where we are, for a message.
    fn place(&self) -> String;
    /// Bytes left over.
    fn left(&self) -> usize;
}

/// A binary body.
pub(super) struct Binary<'a> {
    name: &'a str,
    bytes: &'a [u8],
    at: usize,
    big_endian: bool,
    within: (String, u64),
}

impl<'a> Binary<'a> {
    pub(super) fn new(name: &'a str, bytes: &'a [u8], at: usize, big_endian: bool) -> Self {
        Self { name, bytes, at, big_endian, within: (String::new(), 0) }
    }

    fn take(&mut self, n: usize) -> Result<&'a [u8], ReadError> {
        let end = self.at.checked_add(n).filter(|end| *end <= self.bytes.len());
        let Some(end) = end else { return Err(self.cut_short()) };
        let taken = &self.bytes[self.at..end];
        self.at = end;
        Ok(taken)
    }

    fn cut_short(&self) -> ReadError {
        let (element, index) = &self.within;
        ReadError::CutShort {
            file: self.name.to_owned(),
            bytes: self.bytes.len(),
            within: format!("\"{element}\" {index}"),
        }
    }

    /// The bytes of the next number, least significant first, and how many count.
    fn raw(&mut self, scalar: Scalar) -> Result<[u8; 8], ReadError> {
        let big_endian = self.big_endian;
        let taken = self.take(scalar.size())?;
        let mut raw = [0; 8];
        raw[..taken.len()].copy_from_slice(taken);
        if big_endian {
            raw[..taken.len()].reverse();
        }
        Ok(raw)
    }
}

impl Values for Binary<'_> {
    fn begin(&mut self, element: &Element, index: u64) -> Result<(), ReadError> {
        if index == 0 {
            self.within.0.clone_from(&element.name);
        }
        self.within.1 = index;
        Ok(())
    }

    fn scalar(&mut self, scalar: Scalar) -> Result<f64, ReadError> {
        let raw = self.raw(scalar)?;
        let [a, b, c, d, ..] = raw;
        Ok(match scalar {
            Scalar::F32 => f64::from(f32::from_le_bytes([a, b, c, d])),
            Scalar::F64 => f64::from_le_bytes(raw),
            integer => whole(raw, integer) as f64,
        })
    }

    fn integer(&mut self, scalar: Scalar) -> Result<i64, ReadError> {
        Ok(whole(self.raw(scalar)?, scalar))
    }

    fn count(&mut self, count: Scalar, item: Scalar) -> Result<u64, ReadError> {
        let n = u64::try_from(self.integer(count)?).map_err(|_| self.cut_short())?;
        if u128::from(n) * item.size() as u128 > self.left() as u128 {
            return Err(self.cut_short());
        }
        Ok(n)
    }

    fn skip(&mut self, scalar: Scalar, n: u64) -> Result<(), ReadError> {
        let bytes = usize::try_from(n).ok().and_then(|n| n.checked_mul(scalar.size()));
        let bytes = bytes.ok_or_else(|| self.cut_short())?;
        self.take(bytes).map(|_| ())
    }

    fn place(&self) -> String {
        format!("byte {}", self.at)
    }

    fn left(&self) -> usize {
        self.bytes.len() - self.at
    }
}

/// The whole number in `raw`, least significant byte first.
fn whole(raw: [u8; 8], scalar: Scalar) -> i64 {
    let [a, b, c, d, ..] = raw;
    match scalar {
        Scalar::I8 => i64::from(i8::from_le_bytes([a])),
        Scalar::U8 => i64::from(a),
        Scalar::I16 => i64::from(i16::from_le_bytes([a, b])),
        Scalar::U16 => i64::from(u16::from_le_bytes([a, b])),
        Scalar::I32 => i64::from(i32::from_le_bytes([a, b, c, d])),
        Scalar::U32 => i64::from(u32::from_le_bytes([a, b, c, d])),
        Scalar::F32 => f32::from_le_bytes([a, b, c, d]) as i64,
        Scalar::F64 => f64::from_le_bytes(raw) as i64,
    }
}

/// A body in text: one row a line, empty lines passed over.
pub(super) struct Text<'a> {
    name: &'a str,
    lines: Box<dyn Iterator<Item = (usize, &'a [u8])> + 'a>,
    header_lines: usize,
    line: usize,
    row: &'a [u8],
    rest: Vec<&'a [u8]>,
    next: usize,
}

impl<'a> Text<'a> {
    pub(super) fn new(name: &'a str, body: &'a [u8], header_lines: usize) -> Self {
        Self {
            name,
            lines: Box::new(lines(body)),
            header_lines,
            line: header_lines,
            row: &[],
            rest: Vec::new(),
            next: 0,
        }
    }

    fn at(&self) -> Place<'a> {
        Place { file: self.name, line: self.line }
    }

    fn word(&mut self) -> Result<&'a [u8], ReadError> {
        let word = self.rest.get(self.next).copied().ok_or_else(|| {
            self.at().bad("more numbers on the line", self.row, "export the mesh again")
        })?;
        self.next += 1;
        Ok(word)
    }
}

impl Values for Text<'_> {
    fn begin(&mut self, element: &Element, index: u64) -> Result<(), ReadError> {
        let row = self.lines.find(|(_, line)| !line.is_empty());
        let Some((number, row)) = row else {
            return Err(ReadError::TextCutShort {
                file: self.name.to_owned(),
                line: self.line,
                within: format!(
                    "the {} of \"{}\", before number {index}",
                    element.count, element.name
                ),
            });
        };
        self.line = self.header_lines + number;
        self.row = row;
        self.rest.clear();
        self.rest.extend(words(row));
        self.next = 0;
        Ok(())
    }

    fn scalar(&mut self, _: Scalar) -> Result<f64, ReadError> {
        let word = self.word()?;
        self.at().number(word)
    }

    fn integer(&mut self, _: Scalar) -> Result<i64, ReadError> {
        let word = self.word()?;
        parse(word).ok_or_else(|| self.at().bad("a whole number", word, "export the mesh again"))
    }

    fn count(&mut self, count: Scalar, _: Scalar) -> Result<u64, ReadError> {
        let n = self.integer(count)?;
        let left = self.rest.len() - self.next;
        u64::try_from(n).ok().filter(|n| *n <= left as u64).ok_or_else(|| {
            self.at().bad(&format!("a list of {n} numbers"), self.row, "export the mesh again")
        })
    }

    fn skip(&mut self, _: Scalar, n: u64) -> Result<(), ReadError> {
        for _ in 0..n {
            self.word()?;
        }
        Ok(())
    }

    fn place(&self) -> String {
        format!("line {}", self.line)
    }

    fn left(&self) -> usize {
        0
    }
}
