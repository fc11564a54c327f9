//! Tables: cells that wrap, a header on every page.

use glam::DVec2;

use super::flow::{Flow, PALE, Type};
use super::wrap::wrap;
use super::{Align, Table};
use crate::pdf::canvas::BLACK;
use crate::text::helvetica::{Style, width};

const HEADER: Type = Type { style: Style::Bold, size: 3.2, color: BLACK };
const CELL: Type = Type { style: Style::Regular, size: 3.4, color: BLACK };

/// White beside, above and under the words of a cell, mm.
const PADDING: DVec2 = DVec2::new(1.4, 1.1);

/// The lines of every cell of a row.
type Cells = Vec<Vec<Vec<u8>>>;

pub(super) fn draw(flow: &mut Flow, table: &Table) {
    if table.columns.is_empty() {
        return;
    }
    let edges = edges(flow, table);
    let header = header(table, &edges);
    flow.need(beginning(flow, table).min(flow.full_height()));
    draw_header(flow, table, &header, &edges);
    for row in &table.rows {
        let cells = cells(row, &CELL, &edges);
        let room = flow.full_height() - height(&header, &HEADER);
        let mut first = 0;
        // One pass for a row that fits on a page; a taller one goes on over several.
        while first < lines(&cells).max(1) {
            if flow.free() < height(&cells, &CELL).min(room) && first == 0
                || flow.free() < height(&[vec![Vec::new()]], &CELL)
            {
                flow.new_page();
                draw_header(flow, table, &header, &edges);
            }
            let fitting = ((flow.free() - 2.0 * PADDING.y) / CELL.leading()).floor().max(1.0);
            let part: Cells = cells
                .iter()
                .map(|cell| cell.iter().skip(first).take(fitting as usize).cloned().collect())
                .collect();
            draw_row(flow, table, &part, &CELL, &edges);
            rule(flow, 0.12, PALE);
            first += fitting as usize;
        }
    }
}

/// Height of the header with the first row, mm.
pub(super) fn beginning(flow: &Flow, table: &Table) -> f64 {
    let edges = edges(flow, table);
    let first = table.rows.first().map_or(0.0, |row| height(&cells(row, &CELL, &edges), &CELL));
    height(&header(table, &edges), &HEADER) + first + 1.0
}

/// Left edges of the columns and the right edge of the last, mm.
fn edges(flow: &Flow, table: &Table) -> Vec<f64> {
    let all: f64 = table.columns.iter().map(|c| c.share).sum();
    let mut x = flow.left();
    let mut edges = vec![x];
    for column in &table.columns {
        x += column.share / all * flow.width();
        edges.push(x);
    }
    edges
}

fn header(table: &Table, edges: &[f64]) -> Cells {
    let titles: Vec<String> = table.columns.iter().map(|c| c.title.clone()).collect();
    cells(&titles, &HEADER, edges)
}

fn cells(row: &[String], look: &Type, edges: &[f64]) -> Cells {
    let room = |i: usize| edges[i + 1] - edges[i] - 2.0 * PADDING.x;
    let wrapped = |(i, words): (usize, &String)| wrap(words, look.style, look.size, room(i));
    row.iter().enumerate().map(wrapped).collect()
}

fn lines(cells: &[Vec<Vec<u8>>]) -> usize {
    cells.iter().map(Vec::len).max().unwrap_or(0)
}

fn height(cells: &[Vec<Vec<u8>>], look: &Type) -> f64 {
    lines(cells).max(1) as f64 * look.leading() + 2.0 * PADDING.y
}

fn draw_header(flow: &mut Flow, table: &Table, header: &Cells, edges: &[f64]) {
    draw_row(flow, table, header, &HEADER, edges);
    rule(flow, 0.3, BLACK);
}

fn draw_row(flow: &mut Flow, table: &Table, cells: &Cells, look: &Type, edges: &[f64]) {
    for (i, cell) in cells.iter().enumerate() {
        let (left, right) = (edges[i] + PADDING.x, edges[i + 1] - PADDING.x);
        let mut y = flow.y - PADDING.y - look.size;
        for line in cell {
            let white = right - left - look.size * width(line, look.style);
            let indent = match table.columns[i].align {
                Align::Left => 0.0,
                Align::Center => white / 2.0,
                Align::Right => white,
            };
            flow.set(line, look, DVec2::new(left + indent, y));
            y -= look.leading();
        }
    }
    flow.y -= height(cells, look);
}

fn rule(flow: &mut Flow, weight: f64, color: [u8; 3]) {
    let (left, right) = (flow.left(), flow.left() + flow.width());
    flow.canvas.pen(weight, &[], color);
    flow.canvas.line(DVec2::new(left, flow.y), DVec2::new(right, flow.y));
}
