//! A part of a package, unpacked as it is read, within limits.

use std::io::{self, BufRead, BufReader, Read};

/// The longest tag or text between tags, bytes. The longest tag of a sound file, that of the
/// model with its namespaces, has a few thousand; a tag must be held whole to be understood.
pub(super) const MAX_TAG_BYTES: usize = 1 << 20;

/// Which limit stopped the reading.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Stop {
    /// The part, or all parts together, unpack to too much.
    Unpacked,
    /// A tag or text is too long.
    Tag,
}

/// A reader that counts lines and stops at the limits.
pub(super) struct Source<R> {
    inner: BufReader<R>,
    /// Lines begun.
    pub(super) line: usize,
    /// Bytes that may still be unpacked.
    pub(super) left: u64,
    pub(super) stop: Option<Stop>,
    tag: usize,
}

impl<R: Read> Source<R> {
    pub(super) fn new(inner: R, left: u64) -> Self {
        let inner = BufReader::with_capacity(1 << 16, inner);
        Self { inner, line: 1, left, stop: None, tag: 0 }
    }

    /// A new tag or text begins.
    pub(super) fn begin_tag(&mut self) {
        self.tag = 0;
    }
}

impl<R: Read> Read for Source<R> {
    fn read(&mut self, out: &mut [u8]) -> io::Result<usize> {
        let n = self.fill_buf()?.read(out)?;
        self.consume(n);
        Ok(n)
    }
}

impl<R: Read> BufRead for Source<R> {
    fn fill_buf(&mut self) -> io::Result<&[u8]> {
        if self.tag > MAX_TAG_BYTES {
            self.stop = Some(Stop::Tag);
        }
        let bytes = self.inner.fill_buf()?;
        // A part that ends exactly at the limit is whole.
        if self.left == 0 && !bytes.is_empty() {
            self.stop = Some(Stop::Unpacked);
        }
        if self.stop.is_some() {
            return Err(io::Error::other("a limit was reached"));
        }
        let n = usize::try_from(self.left).unwrap_or(usize::MAX).min(bytes.len());
        Ok(&bytes[..n])
    }

    fn consume(&mut self, n: usize) {
        let bytes = self.inner.buffer();
        self.line += bytes[..n.min(bytes.len())].iter().filter(|b| **b == b'\n').count();
        self.left = self.left.saturating_sub(n as u64);
        self.tag = self.tag.saturating_add(n);
        self.inner.consume(n);
    }
}
