//! Which part of a drawing goes on which sheet.

use glam::DVec2;

use super::content::Content;
use super::{MOST, TileOptions};
use crate::pdf::paper::Paper;

/// Height of the strip under the window for name, title and check line, mm.
pub(super) const STRIP: f64 = 15.0;

/// Kept clear around the drawing, mm, so that no line runs along the edge of a window.
const CLEAR: f64 = 1.0;

/// One sheet.
#[derive(Debug, Clone, PartialEq)]
pub struct Tile {
    /// A letter for the row and a number for the column, such as B2.
    pub name: String,
    /// Row, from 1 at the top.
    pub row: usize,
    /// Column, from 1 at the left.
    pub column: usize,
    /// Lower left corner of what it shows, mm in the drawing.
    pub low: DVec2,
    /// Upper right corner of what it shows, mm in the drawing.
    pub high: DVec2,
}

/// How a drawing is spread over sheets.
#[derive(Debug, Clone, PartialEq)]
pub struct TileLayout {
    /// The paper.
    pub paper: Paper,
    /// Whether the sheets stand upright; otherwise they lie on their long side.
    pub upright: bool,
    /// Number of rows.
    pub rows: usize,
    /// Number of columns.
    pub columns: usize,
    /// The sheets that are printed, row by row from the top.
    pub tiles: Vec<Tile>,
    /// Those left out because nothing is drawn there.
    pub empty: Vec<Tile>,
    /// Whether a cover page with plan and check square comes first.
    pub cover: bool,
}

impl TileLayout {
    /// Pages of the file, the cover page included.
    pub fn pages(&self) -> usize {
        self.tiles.len() + usize::from(self.cover)
    }

    /// The printed sheet at a row and column.
    pub(super) fn printed(&self, row: usize, column: usize) -> Option<&Tile> {
        self.tiles.iter().find(|t| (t.row, t.column) == (row, column))
    }
}

/// A sheet of paper and the window on it through which the drawing shows, mm.
pub(super) struct Frame {
    pub(super) paper: Paper,
    pub(super) upright: bool,
    pub(super) size: DVec2,
    pub(super) margin: f64,
    pub(super) overlap: f64,
    /// Corners of the window on the paper.
    pub(super) low: DVec2,
    pub(super) high: DVec2,
}

impl Frame {
    pub(super) fn new(paper: Paper, upright: bool, options: TileOptions) -> Self {
        let (short, long) = paper.size();
        let size = if upright { DVec2::new(short, long) } else { DVec2::new(long, short) };
        let TileOptions { margin, overlap } = options;
        let low = DVec2::new(margin, margin + STRIP);
        Self { paper, upright, size, margin, overlap, low, high: size - DVec2::splat(margin) }
    }
}

/// Lays the sheets centred over the drawing, or `None` where there would be too many.
pub(super) fn lay(frame: &Frame, bounds: (DVec2, DVec2), content: &Content) -> Option<TileLayout> {
    let window = frame.high - frame.low;
    let step = window - DVec2::splat(frame.overlap);
    let size = bounds.1 - bounds.0 + DVec2::splat(2.0 * CLEAR);
    let counts = ((size - DVec2::splat(frame.overlap)) / step).ceil().max(DVec2::ONE);
    if counts.max_element() > MOST as f64 {
        return None;
    }
    let (columns, rows) = (counts.x as usize, counts.y as usize);
    let covered = step * counts + DVec2::splat(frame.overlap);
    let origin = (bounds.0 + bounds.1 - covered) / 2.0;
    let places = (1..=rows).flat_map(|row| (1..=columns).map(move |column| (row, column)));
    let (tiles, empty) = places
        .map(|(row, column)| {
            let steps = DVec2::new((column - 1) as f64, (rows - row) as f64);
            let low = origin + step * steps;
            Tile { name: name(row, column), row, column, low, high: low + window }
        })
        .partition(|tile| content.fills(tile.low, tile.high));
    let (paper, upright) = (frame.paper, frame.upright);
    Some(TileLayout { paper, upright, rows, columns, tiles, empty, cover: false })
}

/// Letters for the row (A to Z, then AA), a number for the column.
fn name(row: usize, column: usize) -> String {
    let letter = |i: usize| char::from(b'A' + (i % 26) as u8);
    let row = row - 1;
    if row < 26 {
        format!("{}{column}", letter(row))
    } else {
        format!("{}{}{column}", letter(row / 26 - 1), letter(row))
    }
}
