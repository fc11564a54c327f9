//! DXF R12 (AC1009): the oldest dialect that cutting tables and lasers agree on.
//!
//! R12 has no place to state the unit, so it is stated four ways: a comment, the `$INSUNITS`
//! variable of later releases, a note in words and a check line of 100 mm under the drawing, both
//! on the layer TEXT. Curves are closed or open POLYLINEs whose arcs are bulges. Coloured areas are
//! pictures for people and are left out.

mod tables;
mod text;

use geometry::drawing::{Anchor, Drawing, Item, Layer, Path, Stroke, Text};
use glam::DVec2;

use crate::check_line;
use crate::number::plain;
use crate::text::extent;
use crate::unwritable::{self, Unwritable};

/// Decimals of a millimetre.
const DECIMALS: usize = 8;

/// Longest text that R12 allows, in the characters of the file.
const LONGEST_TEXT: usize = 255;

/// Why a drawing cannot be written as DXF.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum DxfError {
    /// No format could write it.
    #[error(transparent)]
    Unwritable(#[from] Unwritable),
    /// There are only coloured areas, which a cutting file leaves out.
    #[error(
        "the drawing \"{title}\" holds no lines and no texts, only coloured areas, which DXF leaves out"
    )]
    NothingToCut {
        /// Title of the drawing.
        title: String,
    },
    /// A text is too long for the format.
    #[error(
        "the text at ({x:.1}, {y:.1}) mm takes {length} characters, and DXF R12 allows \
         {LONGEST_TEXT} (each letter outside the Latin alphabet takes seven): shorten \"{start}...\""
    )]
    TextTooLong {
        /// Where it hangs, mm.
        x: f64,
        /// Where it hangs, mm.
        y: f64,
        /// Its length in the file.
        length: usize,
        /// How it begins.
        start: String,
    },
}

/// Writes the drawing with one unit for one millimetre, in pure ASCII with CRLF line ends.
///
/// ° ± Ø are written in the format's own way (`%%d`, `%%p`, `%%c`); dashes, quotes and signs such
/// as × and ≤ are spelled in ASCII; accented Latin letters lose their accents, so that the oldest
/// reader shows a word; any other character is written as `\U+XXXX`, which readers since R13 show
/// as itself.
pub fn write(drawing: &Drawing) -> Result<Vec<u8>, DxfError> {
    unwritable::check(drawing)?;
    let lines = Drawing {
        title: drawing.title.clone(),
        items: drawing.items.iter().filter(|i| !matches!(i, Item::Area(_))).cloned().collect(),
    };
    let Some((low, high)) = extent::bounds(&lines) else {
        return Err(DxfError::NothingToCut { title: drawing.title.clone() });
    };
    let note = Drawing { title: String::new(), items: check_line::below(low) };
    let (note_low, note_high) = extent::bounds(&note).unwrap_or((low, high));
    let (low, high) = (low.min(note_low), high.max(note_high));

    let mut file = Pairs::default();
    file.put(999, &format!("{}; 1 unit = 1 mm", text::plain_ascii(&drawing.title)));
    tables::header(&mut file, low, high);
    tables::tables(&mut file);
    file.section("ENTITIES");
    for item in lines.items.iter().chain(&note.items) {
        match item {
            Item::Path(path) => polyline(&mut file, path),
            Item::Text(text) => line_of_text(&mut file, text)?,
            Item::Area(_) => {}
        }
    }
    file.put(0, "ENDSEC");
    file.put(0, "EOF");
    Ok(file.bytes)
}

/// A file in the making: pairs of group code and value, one a line each.
#[derive(Default)]
struct Pairs {
    bytes: Vec<u8>,
}

impl Pairs {
    fn put(&mut self, code: u16, value: &str) {
        self.bytes.extend_from_slice(format!("{code:>3}\r\n{value}\r\n").as_bytes());
    }

    fn section(&mut self, name: &str) {
        self.put(0, "SECTION");
        self.put(2, name);
    }

    fn number(&mut self, code: u16, value: f64) {
        let mut text = plain(value, DECIMALS);
        if !text.contains('.') {
            text.push_str(".0");
        }
        self.put(code, &text);
    }

    fn whole(&mut self, code: u16, value: i32) {
        self.put(code, &format!("{value:>6}"));
    }

    fn point(&mut self, code: u16, p: DVec2) {
        self.number(code, p.x);
        self.number(code + 10, p.y);
        self.number(code + 20, 0.0);
    }
}

fn layer_name(layer: Layer) -> &'static str {
    match layer {
        Layer::Cut => "CUT",
        Layer::Mark => "MARK",
        Layer::Text => "TEXT",
    }
}

fn polyline(file: &mut Pairs, path: &Path) {
    if path.curve.knots.len() < 2 {
        return;
    }
    let layer = layer_name(path.layer);
    file.put(0, "POLYLINE");
    file.put(8, layer);
    match path.stroke {
        Stroke::Solid => {}
        Stroke::Dashed => file.put(6, tables::DASHED),
        Stroke::Chain => file.put(6, tables::CHAIN),
    }
    file.whole(66, 1);
    file.point(10, DVec2::ZERO);
    file.whole(70, i32::from(path.curve.closed));
    let bulges = path.curve.pieces().count();
    for (i, knot) in path.curve.knots.iter().enumerate() {
        file.put(0, "VERTEX");
        file.put(8, layer);
        file.point(10, knot.at);
        if knot.bulge != 0.0 && i < bulges {
            file.put(42, &plain(knot.bulge, 15));
        }
    }
    file.put(0, "SEQEND");
    file.put(8, layer);
}

fn line_of_text(file: &mut Pairs, text: &Text) -> Result<(), DxfError> {
    let content = text::encode(&text.content);
    if content.len() > LONGEST_TEXT {
        let start = text.content.chars().take(20).collect();
        let (x, y) = text.at.into();
        return Err(DxfError::TextTooLong { x, y, length: content.len(), start });
    }
    if content.trim().is_empty() {
        return Ok(());
    }
    file.put(0, "TEXT");
    file.put(8, layer_name(text.layer));
    file.point(10, text.at);
    file.number(40, text.height);
    file.put(1, &content);
    file.number(50, text.angle);
    file.put(7, tables::STYLE);
    let align = match text.anchor {
        Anchor::Start => return Ok(()),
        Anchor::Middle => 1,
        Anchor::End => 2,
    };
    file.whole(72, align);
    file.point(11, text.at);
    Ok(())
}
