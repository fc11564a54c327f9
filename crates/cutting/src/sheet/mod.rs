//! A printed document of words, tables and pictures: instructions that another person can follow.
//!
//! Everything is readable in black and white; outcomes have a word and a shape of their own.

mod blocks;
mod flow;
mod status;
mod table;
mod wrap;

use geometry::drawing::Drawing;

use crate::pdf::Paper;
use crate::unwritable::{self, Unwritable};

/// A document.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Sheet {
    /// Stands large at the top of the first page, and in the file's title.
    pub title: String,
    /// Stands under the title; may be empty.
    pub subtitle: String,
    /// Stands at the foot of every page, beside the page number; may be empty.
    pub footer: String,
    /// The content, from top to bottom.
    pub blocks: Vec<Block>,
}

/// A part of the content.
#[derive(Debug, Clone, PartialEq)]
pub enum Block {
    /// Stays on the page of what follows it.
    Heading(String),
    /// Running text; a line break in it stays one.
    Paragraph(String),
    /// Rows of cells under a header, which is repeated on every page.
    Table(Table),
    /// A drawing, scaled to fit; pictures have no true scale.
    Picture {
        /// What is shown.
        drawing: Drawing,
        /// Height it may take, mm; less where the width or the page allows no more.
        height_mm: f64,
        /// Stands under it; may be empty.
        caption: String,
    },
    /// What the colours of a picture mean.
    Legend {
        /// Red, green, blue, and the meaning.
        entries: Vec<([u8; 3], String)>,
        /// Stands under it; may be empty.
        caption: String,
    },
    /// A caution, in a box.
    Note(String),
    /// Outcomes of checks.
    Status(Vec<StatusRow>),
}

/// A table.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Table {
    /// The columns, from left to right.
    pub columns: Vec<Column>,
    /// The rows; cells that are missing at the end of a row stay blank.
    pub rows: Vec<Vec<String>>,
}

/// A column of a table.
#[derive(Debug, Clone, PartialEq)]
pub struct Column {
    /// Its header.
    pub title: String,
    /// Its width relative to the other columns; above 0.
    pub share: f64,
    /// How its cells are set.
    pub align: Align,
}

/// How cells are set.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Align {
    /// To the left: words.
    #[default]
    Left,
    /// To the right: numbers.
    Right,
    /// In the middle.
    Center,
}

/// The outcome of a check.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Outcome {
    /// It holds: a ring with a tick.
    Pass,
    /// It does not: a black square with a cross.
    Fail,
    /// Not known: a triangle with a question mark.
    Unsure,
}

/// A check and its outcome.
#[derive(Debug, Clone, PartialEq)]
pub struct StatusRow {
    /// The outcome.
    pub outcome: Outcome,
    /// What was checked.
    pub subject: String,
    /// Value, limit, reason; may be empty.
    pub detail: String,
}

/// Why a document cannot be written.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum SheetError {
    /// The drawing of a picture cannot be written.
    #[error("block {block}, a picture: {cause}")]
    Picture {
        /// Which block, from 1.
        block: usize,
        /// What is wrong with it.
        cause: Unwritable,
    },
    /// The height of a picture is not a length.
    #[error("block {block}, a picture: its height is {height} mm; give more than 0")]
    Height {
        /// Which block, from 1.
        block: usize,
        /// The height asked for, mm.
        height: f64,
    },
    /// A column has no width.
    #[error("block {block}, a table: column {column} has a share of {share}; give more than 0")]
    Column {
        /// Which block, from 1.
        block: usize,
        /// Which column, from 1.
        column: usize,
        /// Its share.
        share: f64,
    },
    /// A row has more cells than there are columns.
    #[error("block {block}, a table: row {row} has {cells} cells for {columns} columns")]
    Row {
        /// Which block, from 1.
        block: usize,
        /// Which row, from 1.
        row: usize,
        /// Cells of the row.
        cells: usize,
        /// Columns of the table.
        columns: usize,
    },
}

/// Writes the document as PDF, upright on `paper`.
///
/// Texts are in WinAnsi Helvetica: – — “ ” ’ • × ° ± ½ and Western European letters are kept, other
/// signs are spelled (≤ as <=, → as ->), other accented Latin letters lose their accents, and what
/// is left becomes a question mark. Coloured areas of a picture that follow each other are gathered
/// by colour and taken not to overlap.
pub fn write(sheet: &Sheet, paper: Paper) -> Result<Vec<u8>, SheetError> {
    for (i, block) in sheet.blocks.iter().enumerate() {
        check(block, i + 1)?;
    }
    let mut flow = flow::Flow::new(paper);
    blocks::title(&mut flow, &sheet.title, &sheet.subtitle);
    for (i, block) in sheet.blocks.iter().enumerate() {
        blocks::draw(&mut flow, block, sheet.blocks.get(i + 1));
    }
    Ok(flow.finish(&sheet.title, &sheet.footer))
}

fn check(block: &Block, number: usize) -> Result<(), SheetError> {
    match block {
        Block::Picture { drawing, height_mm, .. } => {
            if !(height_mm.is_finite() && *height_mm > 0.0) {
                return Err(SheetError::Height { block: number, height: *height_mm });
            }
            unwritable::check(drawing).map_err(|cause| SheetError::Picture { block: number, cause })
        }
        Block::Table(table) => check_table(table, number),
        _ => Ok(()),
    }
}

fn check_table(table: &Table, block: usize) -> Result<(), SheetError> {
    let columns = table.columns.len();
    let no_width = |c: &Column| !(c.share.is_finite() && c.share > 0.0);
    if let Some(i) = table.columns.iter().position(no_width) {
        return Err(SheetError::Column { block, column: i + 1, share: table.columns[i].share });
    }
    match table.rows.iter().position(|row| row.len() > columns) {
        Some(i) => Err(SheetError::Row { block, row: i + 1, cells: table.rows[i].len(), columns }),
        None => Ok(()),
    }
}
