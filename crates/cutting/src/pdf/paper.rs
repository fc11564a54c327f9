//! Sheets of paper that office printers hold.

/// A sheet of paper.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Paper {
    /// 210 x 297 mm (ISO 216).
    A4,
    /// 8 1/2 x 11 inches (ANSI Y14.1, size A).
    Letter,
}

/// Every paper: its name and its sides upright, mm.
const PAPERS: [(Paper, &str, f64, f64); 2] =
    [(Paper::A4, "A4", 210.0, 297.0), (Paper::Letter, "Letter", 215.9, 279.4)];

impl Paper {
    /// Every paper, in the order in which to offer them.
    pub fn all() -> impl Iterator<Item = Paper> {
        PAPERS.iter().map(|row| row.0)
    }

    /// What it is called.
    pub fn name(self) -> &'static str {
        self.row().1
    }

    /// Width and height upright, mm.
    pub fn size(self) -> (f64, f64) {
        let (_, _, width, height) = self.row();
        (width, height)
    }

    fn row(self) -> (Paper, &'static str, f64, f64) {
        PAPERS.into_iter().find(|row| row.0 == self).unwrap_or(PAPERS[0])
    }
}
