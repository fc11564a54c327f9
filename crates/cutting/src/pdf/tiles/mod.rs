//! A drawing spread over sheets of office paper, at full scale.
//!
//! Sheets overlap. Of two neighbours the right or upper one is cut along its edge and lies on top;
//! the lower one shows where that edge goes by a dashed line, with marks that both sheets carry.

mod content;
mod cover;
mod layout;
mod sheet;

use geometry::drawing::Drawing;
use glam::DVec2;

pub use layout::{Tile, TileLayout};

use self::content::Content;
use self::layout::Frame;
use super::document::{Page, assemble};
use super::paper::Paper;
use crate::text::extent;
use crate::unwritable::{self, Unwritable};

/// More rows or columns than this no one glues together.
const MOST: usize = 40;

/// How the sheets are laid.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TileOptions {
    /// Edge of the paper that printers may leave white, mm.
    pub margin: f64,
    /// How far neighbours overlap, mm.
    pub overlap: f64,
}

impl Default for TileOptions {
    fn default() -> Self {
        Self { margin: 10.0, overlap: 10.0 }
    }
}

/// Why a drawing cannot be spread over sheets.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum TileError {
    /// No format could write it.
    #[error(transparent)]
    Unwritable(#[from] Unwritable),
    /// Margin or overlap leave too little of the sheet, or the overlap hides the glue marks.
    #[error(
        "margin {margin} mm and overlap {overlap} mm do not fit {paper}: keep the margin within 5 \
         to 40 mm and the overlap within 8 to 40 mm"
    )]
    Options {
        /// Name of the paper.
        paper: &'static str,
        /// Margin asked for, mm.
        margin: f64,
        /// Overlap asked for, mm.
        overlap: f64,
    },
    /// There would be too many sheets.
    #[error(
        "the drawing is {width:.0} x {height:.0} mm and would take more than {MOST} rows or columns \
         of {paper}: write one large page, SVG or DXF"
    )]
    TooManyTiles {
        /// Name of the paper.
        paper: &'static str,
        /// Width of the drawing, mm.
        width: f64,
        /// Height of the drawing, mm.
        height: f64,
    },
}

/// A drawing on sheets.
#[derive(Debug, Clone, PartialEq)]
pub struct Tiled {
    /// The PDF file.
    pub bytes: Vec<u8>,
    /// Which sheets there are.
    pub layout: TileLayout,
}

/// Spreads the drawing over sheets of `paper`, upright or lying, whichever takes fewer.
///
/// Every sheet carries its name and place, a check line of 100 mm, and the marks it shares with its
/// neighbours; what is drawn is clipped to the sheet's window. A single sheet with room to spare
/// carries a check square of 100 mm; otherwise a cover page comes first, with the square, a plan of
/// the sheets and how to put them together. Sheets on which nothing would be drawn, and which lie
/// outside every closed cut line, are left out; the plan says so.
///
/// Lines and letters look as in [`super::write_page`].
pub fn write_tiled(
    drawing: &Drawing,
    paper: Paper,
    options: TileOptions,
) -> Result<Tiled, TileError> {
    let Plan { frame, layout, square } = fewest(drawing, paper, options)?;
    let mut pages = Vec::with_capacity(layout.pages());
    if layout.cover {
        pages.push(cover::page(drawing, &frame, &layout));
    }
    let marks = sheet::marks(&layout, options.overlap);
    pages.extend(layout.tiles.iter().map(|tile| {
        let canvas = sheet::draw(drawing, &frame, &layout, tile, &marks, square);
        Page { width: frame.size.x, height: frame.size.y, canvas }
    }));
    Ok(Tiled { bytes: assemble(&drawing.title, pages), layout })
}

/// Which sheets [`write_tiled`] spreads the drawing over.
///
/// # Errors
/// As [`write_tiled`].
pub fn tile_layout(
    drawing: &Drawing,
    paper: Paper,
    options: TileOptions,
) -> Result<TileLayout, TileError> {
    Ok(fewest(drawing, paper, options)?.layout)
}

/// The way to lay the sheets, upright or lying, that takes fewer.
fn fewest(drawing: &Drawing, paper: Paper, options: TileOptions) -> Result<Plan, TileError> {
    unwritable::check(drawing)?;
    let TileOptions { margin, overlap } = options;
    if !(5.0..=40.0).contains(&margin) || !(8.0..=40.0).contains(&overlap) {
        return Err(TileError::Options { paper: paper.name(), margin, overlap });
    }
    let content = Content::of(drawing);
    let bounds = extent::bounds(drawing).unwrap_or_default();
    let frames = [true, false].map(|upright| Frame::new(paper, upright, options));
    let fewest = frames
        .into_iter()
        .filter_map(|frame| plan(frame, bounds, &content))
        // The first of equals is taken: upright.
        .min_by_key(|plan| plan.layout.pages());
    fewest.ok_or_else(|| {
        let (width, height) = (bounds.1 - bounds.0).into();
        TileError::TooManyTiles { paper: paper.name(), width, height }
    })
}

/// One way to lay the sheets.
struct Plan {
    frame: Frame,
    layout: TileLayout,
    /// Lower left corner of the check square, where the only sheet has room for it.
    square: Option<DVec2>,
}

fn plan(frame: Frame, bounds: (DVec2, DVec2), content: &Content) -> Option<Plan> {
    let mut layout = layout::lay(&frame, bounds, content)?;
    let square = match layout.tiles.as_slice() {
        [only] => content.free_square(only),
        _ => None,
    };
    layout.cover = square.is_none();
    Some(Plan { frame, layout, square })
}
