//! PDF at full scale: one large page for a plotter, or tiles for an office printer.
//!
//! Every page states its size in points without a scaled user unit, which some readers ignore, and
//! asks the reader to print without fitting.

pub(crate) mod canvas;
pub(crate) mod document;
pub(crate) mod furniture;
mod page;
pub(crate) mod paint;
mod paper;
mod tiles;

pub use page::{PageOptions, write_page, write_pages};
pub use paper::Paper;
pub use tiles::{Tile, TileError, TileLayout, TileOptions, Tiled, tile_layout, write_tiled};

use crate::unwritable::Unwritable;

/// Longest side of a page that readers agree on: 14400 points (PDF 1.7, annex C, table C.1).
pub const LONGEST_SIDE: f64 = 14_400.0 * 25.4 / 72.0;

/// Why a drawing cannot be written as PDF.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum PdfError {
    /// No format could write it.
    #[error(transparent)]
    Unwritable(#[from] Unwritable),
    /// The page would be longer than readers can show.
    #[error(
        "the page would be {width:.0} x {height:.0} mm, and a PDF page may be {LONGEST_SIDE:.0} mm \
         long at most: print in tiles, or write SVG or DXF"
    )]
    PageTooLarge {
        /// Width the drawing needs with its margin, mm.
        width: f64,
        /// Height the drawing needs with its margin, mm.
        height: f64,
    },
}
