//! The pages as they fill from top to bottom.

use glam::DVec2;

use crate::number::plain;
use crate::pdf::Paper;
use crate::pdf::canvas::{BLACK, Canvas, Color};
use crate::pdf::document::{Page, assemble};
use crate::pdf::furniture::fitted;
use crate::text::helvetica::{Style, width};
use crate::text::winansi::encode;

/// White at the sides and at the top, mm.
const SIDE: f64 = 20.0;
const TOP: f64 = 18.0;

/// White under the content, mm; the footer stands in it.
const BOTTOM: f64 = 24.0;

/// Base line of the footer above the edge of the paper, mm.
const FOOTER: f64 = 13.0;

/// Font size of the footer, mm.
const FOOTER_SIZE: f64 = 2.9;

/// Letters and rules of less weight, still dark enough to read on a worn printer.
pub(super) const GREY: Color = [85, 85, 85];

/// Rules between rows.
pub(super) const PALE: Color = [190, 190, 190];

/// A line of text to be set.
pub(super) struct Type {
    pub(super) style: Style,
    /// Font size, mm.
    pub(super) size: f64,
    pub(super) color: Color,
}

impl Type {
    /// From one base line to the next, mm.
    pub(super) fn leading(&self) -> f64 {
        self.size * 1.38
    }
}

/// Pages in the making, and how far the last one is filled.
pub(super) struct Flow {
    size: DVec2,
    done: Vec<Canvas>,
    pub(super) canvas: Canvas,
    /// Upper edge of what is still free, mm from the lower edge of the paper.
    pub(super) y: f64,
}

impl Flow {
    pub(super) fn new(paper: Paper) -> Self {
        let size = DVec2::from(paper.size());
        Self { size, done: Vec::new(), canvas: Canvas::default(), y: size.y - TOP }
    }

    pub(super) fn left(&self) -> f64 {
        SIDE
    }

    pub(super) fn width(&self) -> f64 {
        self.size.x - 2.0 * SIDE
    }

    /// Height of an empty page, mm.
    pub(super) fn full_height(&self) -> f64 {
        self.size.y - TOP - BOTTOM
    }

    /// Height still free on this page, mm.
    pub(super) fn free(&self) -> f64 {
        self.y - BOTTOM
    }

    fn is_fresh(&self) -> bool {
        self.y >= self.size.y - TOP
    }

    pub(super) fn new_page(&mut self) {
        self.done.push(std::mem::take(&mut self.canvas));
        self.y = self.size.y - TOP;
    }

    /// Begins a new page unless `height` mm are free; says whether it did.
    pub(super) fn need(&mut self, height: f64) -> bool {
        let full = self.free() < height && !self.is_fresh();
        if full {
            self.new_page();
        }
        full
    }

    /// Leaves white, except at the top of a page.
    pub(super) fn space(&mut self, height: f64) {
        if !self.is_fresh() {
            self.y -= height;
        }
    }

    /// Sets one line at `x` and moves down by its leading.
    pub(super) fn line(&mut self, codes: &[u8], look: &Type, x: f64) {
        self.set(codes, look, DVec2::new(x, self.y - look.size));
        self.y -= look.leading();
    }

    /// Sets one line at a place, without moving.
    pub(super) fn set(&mut self, codes: &[u8], look: &Type, at: DVec2) {
        self.canvas.ink(look.color);
        self.canvas.text(codes, look.style, look.size, at, 0.0);
    }

    /// Sets lines over as many pages as they take, never one alone at the foot of a page.
    pub(super) fn lines(&mut self, lines: &[Vec<u8>], look: &Type, x: f64) {
        let least = look.leading() * lines.len().min(2) as f64;
        self.need(least);
        for line in lines {
            self.need(look.leading());
            self.line(line, look, x);
        }
    }

    /// The file.
    pub(super) fn finish(mut self, title: &str, footer: &str) -> Vec<u8> {
        self.new_page();
        let count = self.done.len();
        let (size, width) = (self.size, self.width());
        let pages = self.done.into_iter().enumerate().map(|(i, mut canvas)| {
            foot(
                &mut canvas,
                footer,
                &format!("page {} of {}", plain((i + 1) as f64, 0), count),
                width,
            );
            Page { width: size.x, height: size.y, canvas }
        });
        assemble(title, pages.collect())
    }
}

fn foot(canvas: &mut Canvas, words: &str, number: &str, room: f64) {
    let number = encode(number);
    let number_width = FOOTER_SIZE * width(&number, Style::Regular);
    let words = fitted(words, Style::Regular, FOOTER_SIZE, room - number_width - 6.0);
    let rule = FOOTER + 5.0;
    canvas.pen(0.15, &[], PALE);
    canvas.line(DVec2::new(SIDE, rule), DVec2::new(SIDE + room, rule));
    canvas.ink(GREY);
    canvas.text(&words, Style::Regular, FOOTER_SIZE, DVec2::new(SIDE, FOOTER), 0.0);
    let at = DVec2::new(SIDE + room - number_width, FOOTER);
    canvas.ink(BLACK);
    canvas.text(&number, Style::Regular, FOOTER_SIZE, at, 0.0);
}
