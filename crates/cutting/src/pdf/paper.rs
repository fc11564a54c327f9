//! Sheets of paper that office printers hold. To add one: a name here and a row in the table.

/// A sheet of paper.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Paper {
    /// 210 x 297 mm (ISO 216).
    A4,
    /// 8 1/2 x 11 inches (ANSI Y14.1, size A).
    Letter,
}

impl Paper {
    /// Every paper, in the order in which to offer them.
    pub const ALL: [Paper; 2] = [Paper::A4, Paper::Letter];

    /// Name, and the sides of the upright sheet, mm.
    const fn row(self) -> (&'static str, f64, f64) {
        match self {
            Paper::A4 => ("A4", 210.0, 297.0),
            Paper::Letter => ("Letter", 215.9, 279.4),
        }
    }

    /// What it is called.
    pub const fn name(self) -> &'static str {
        self.row().0
    }

    /// Width and height upright, mm.
    pub const fn size(self) -> (f64, f64) {
        let (_, width, height) = self.row();
        (width, height)
    }
}
