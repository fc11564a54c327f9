//! One page as large as the drawing.

use geometry::drawing::Drawing;
use glam::DVec2;

use super::canvas::{BLACK, Canvas};
use super::document::{Page, assemble};
use super::paint::{self, Placement};
use super::{LONGEST_SIDE, PdfError, furniture};
use crate::text::extent;
use crate::text::helvetica::Style;
use crate::unwritable;

/// What surrounds the drawing on a page of its own.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PageOptions {
    /// Clear space on every side, mm.
    pub margin: f64,
    /// Whether title and a check line of 100 mm stand in a strip of their own under the drawing.
    pub footer: bool,
}

impl Default for PageOptions {
    fn default() -> Self {
        Self { margin: 10.0, footer: true }
    }
}

/// Height of the strip under the drawing, mm.
const FOOTER: f64 = 16.0;

/// Font size of the title in the strip, mm.
const TITLE_SIZE: f64 = 4.0;

/// Writes one page as large as the drawing with its margin, at full scale.
///
/// Lines are black: cut lines 0.25 mm, others 0.12 mm, unbroken lines of the text layer dotted.
/// Arcs become cubic pieces within 0.0005 mm. Texts are in WinAnsi Helvetica, the height of their
/// capitals as asked for; signs outside of it are spelled in others (≤ as <=) or become a question
/// mark. Coloured areas that follow each other are gathered by colour and taken not to overlap.
pub fn write_page(drawing: &Drawing, options: PageOptions) -> Result<Vec<u8>, PdfError> {
    Ok(assemble(&drawing.title, vec![page(drawing, options)?]))
}

/// Writes several drawings into one document called `title`, each on a page as large as itself,
/// as [`write_page`] does.
pub fn write_pages(
    title: &str,
    drawings: &[Drawing],
    options: PageOptions,
) -> Result<Vec<u8>, PdfError> {
    let pages = drawings.iter().map(|drawing| page(drawing, options));
    Ok(assemble(title, pages.collect::<Result<_, _>>()?))
}

fn page(drawing: &Drawing, options: PageOptions) -> Result<Page, PdfError> {
    unwritable::check(drawing)?;
    unwritable::check_margin(options.margin)?;
    let (low, high) = extent::bounds(drawing).unwrap_or_default();
    let margins = DVec2::splat(2.0 * options.margin);
    // A page without width or height is no page.
    let mut size = (high - low + margins).max(DVec2::ONE);
    if options.footer {
        size.x = size.x.max(furniture::CHECK_LENGTH + margins.x);
        size.y += FOOTER;
    }
    if size.max_element() > LONGEST_SIDE {
        return Err(PdfError::PageTooLarge { width: size.x, height: size.y });
    }
    let corner =
        DVec2::new(options.margin, options.margin + if options.footer { FOOTER } else { 0.0 });
    let mut canvas = Canvas::default();
    paint::drawing(&mut canvas, drawing, Placement::moved(corner - low));
    if options.footer {
        let start = DVec2::splat(options.margin) + DVec2::new(0.0, 2.0);
        furniture::check_line(&mut canvas, start);
        let title =
            furniture::fitted(&drawing.title, Style::Regular, TITLE_SIZE, size.x - margins.x);
        canvas.ink(BLACK);
        canvas.text(&title, Style::Regular, TITLE_SIZE, start + DVec2::new(0.0, 6.0), 0.0);
    }
    Ok(Page { width: size.x, height: size.y, canvas })
}
