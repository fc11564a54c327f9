//! Lines, words and numbers of the text formats, with the line for every complaint.

use super::ReadError;

/// How much of a file is looked at to tell text from binary, bytes.
const LOOKED_AT: usize = 4096;

/// How much of a bad line is quoted, characters: enough to find it, short enough to print.
const QUOTED: usize = 60;

/// Whether the beginning of the file holds no control characters that text never has.
pub(super) fn looks_like_text(bytes: &[u8]) -> bool {
    bytes.iter().take(LOOKED_AT).all(|&b| b >= b' ' || matches!(b, b'\t' | b'\n' | b'\r' | 12))
}

/// Without the mark that some editors put at the beginning of UTF-8 text.
pub(super) fn without_mark(bytes: &[u8]) -> &[u8] {
    bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes)
}

/// The lines with their numbers from 1, ended by LF or CRLF, or by CR in a file without any LF.
pub(super) fn lines(bytes: &[u8]) -> impl Iterator<Item = (usize, &[u8])> {
    let end = if bytes.contains(&b'\n') { b'\n' } else { b'\r' };
    bytes.split(move |&b| b == end).zip(1..).map(|(line, n)| (n, line.trim_ascii()))
}

/// Whether line `number` is the last one and lacks its end.
pub(super) fn is_unended_last(bytes: &[u8], number: usize) -> bool {
    lines(bytes).last().is_some_and(|(last, line)| last == number && !line.is_empty())
}

/// The words of a line.
pub(super) fn words(line: &[u8]) -> impl Iterator<Item = &[u8]> {
    line.split(u8::is_ascii_whitespace).filter(|w| !w.is_empty())
}

/// A place in a text file.
#[derive(Clone, Copy)]
pub(super) struct Place<'a> {
    pub(super) file: &'a str,
    pub(super) line: usize,
}

impl Place<'_> {
    /// The complaint that the line should have held `expected`.
    pub(super) fn bad(self, expected: &str, found: &[u8], mend: &str) -> ReadError {
        ReadError::BadLine {
            file: self.file.to_owned(),
            line: self.line,
            expected: expected.to_owned(),
            found: quoted(found),
            mend: mend.to_owned(),
        }
    }

    /// The coordinate that `word` writes.
    pub(super) fn coordinate(self, word: &[u8]) -> Result<f64, ReadError> {
        let number = self.number(word)?;
        if number.is_finite() {
            return Ok(number);
        }
        let place = format!("line {}", self.line);
        Err(ReadError::NotFinite { file: self.file.to_owned(), place })
    }

    /// The number that `word` writes; may be infinite or not a number.
    pub(super) fn number(self, word: &[u8]) -> Result<f64, ReadError> {
        let mend = if word.contains(&b',') {
            "decimals need a point, not a comma: change the number format and export again"
        } else {
            "export the mesh again"
        };
        parse(word).ok_or_else(|| self.bad("a number", word, mend))
    }

    /// The next three words as coordinates.
    pub(super) fn point<'w>(
        self,
        line: &[u8],
        mut words: impl Iterator<Item = &'w [u8]>,
    ) -> Result<[f64; 3], ReadError> {
        let mut point = [0.0; 3];
        for value in &mut point {
            let word = words
                .next()
                .ok_or_else(|| self.bad("three coordinates", line, "export the mesh again"))?;
            *value = self.coordinate(word)?;
        }
        Ok(point)
    }
}

/// The number that `word` writes, of any type that Rust can parse.
pub(super) fn parse<T: std::str::FromStr>(word: &[u8]) -> Option<T> {
    std::str::from_utf8(word).ok()?.parse().ok()
}

/// Part of the file for a message: printable, on one line, shortened.
pub(super) fn quoted(found: &[u8]) -> String {
    // A character takes at most four bytes, so nothing beyond can be needed.
    let head = &found[..found.len().min(4 * QUOTED)];
    let text = String::from_utf8_lossy(head);
    let mut quote: String =
        text.chars().take(QUOTED).map(|c| if c.is_control() { '?' } else { c }).collect();
    if text.chars().nth(QUOTED).is_some() || head.len() < found.len() {
        quote.push_str("...");
    }
    quote
}
