//! Sheets of instructions: nothing is lost between pages, and what cannot be set is named.

#![allow(clippy::unwrap_used, reason = "a test fails by panicking")]

mod readers;

use cutting::pdf::Paper;
use cutting::sheet::{Align, Block, Column, Outcome, Sheet, SheetError, StatusRow, Table, write};
use geometry::drawing::{Area, Drawing, Item};
use glam::dvec2;

fn sheet(blocks: Vec<Block>) -> Sheet {
    Sheet { title: "Invented".to_owned(), blocks, ..Sheet::default() }
}

fn table(rows: Vec<Vec<String>>) -> Block {
    let column = |title: &str| Column { title: title.to_owned(), share: 1.0, align: Align::Left };
    Block::Table(Table { columns: vec![column("First"), column("Second")], rows })
}

/// The texts of every page, joined with bars.
fn texts(file: &[u8]) -> Vec<String> {
    let text = |line: &str| {
        let hex = line.strip_prefix('<')?.split('>').next()?;
        let codes = (0..hex.len()).step_by(2).map(|i| u8::from_str_radix(&hex[i..i + 2], 16));
        Some(codes.map(|c| char::from(c.unwrap())).collect::<String>())
    };
    let page = |content: &String| content.lines().filter_map(text).collect::<Vec<_>>().join("|");
    readers::pdf::contents(file).iter().map(page).collect()
}

#[test]
fn every_row_is_printed_once_under_a_header_on_every_page() {
    let rows = (0..200).map(|i| vec![format!("row-{i}-"), "x".repeat(i % 90)]).collect();
    let pages = texts(&write(&sheet(vec![table(rows)]), Paper::A4).unwrap());
    assert!(pages.len() > 3);
    for page in &pages {
        assert_eq!(page.matches("First|Second").count(), 1);
    }
    for i in 0..200 {
        let count: usize = pages.iter().map(|p| p.matches(&format!("row-{i}-")).count()).sum();
        assert_eq!(count, 1, "row {i}");
    }
    let last = format!("page {0} of {0}", pages.len());
    assert!(pages[pages.len() - 1].contains(&last));
}

#[test]
fn a_row_longer_than_a_page_goes_on() {
    let long = (0..1500).map(|i| format!("word{i}.")).collect::<Vec<_>>().join(" ");
    let pages =
        texts(&write(&sheet(vec![table(vec![vec![long, "b".into()]])]), Paper::A4).unwrap());
    let all = pages.join("|");
    assert!((0..1500).all(|i| all.contains(&format!("word{i}."))));
}

#[test]
fn no_heading_is_left_alone_at_the_foot_of_a_page() {
    for filler in 0..60 {
        let mut blocks: Vec<Block> =
            (0..filler).map(|i| Block::Paragraph(format!("line {i}"))).collect();
        blocks.push(Block::Heading("The heading".to_owned()));
        blocks.push(Block::Paragraph("What follows".to_owned()));
        let pages = texts(&write(&sheet(blocks), Paper::Letter).unwrap());
        let place = |words: &str| pages.iter().position(|p| p.contains(words)).unwrap();
        assert_eq!(place("The heading"), place("What follows"), "after {filler} lines");
    }
}

#[test]
fn outcomes_are_told_apart_by_their_words() {
    let row = |outcome| StatusRow { outcome, subject: "s".to_owned(), detail: String::new() };
    let rows = [Outcome::Pass, Outcome::Fail, Outcome::Unsure].map(row).to_vec();
    let pages = texts(&write(&sheet(vec![Block::Status(rows)]), Paper::A4).unwrap());
    assert!(["pass", "fail", "open"].iter().all(|word| pages[0].contains(word)));
}

/// 20 000 triangles in 8 colours: once one path each, which made files of megabytes.
#[test]
fn many_areas_stay_small() {
    let triangle = |i: u32| {
        let low = dvec2(f64::from(i % 200), f64::from(i / 200));
        let outline = vec![low, low + dvec2(1.0, 0.0), low + dvec2(0.0, 1.0)];
        Item::Area(Area { outline, color: [(i % 8) as u8 * 30, 0, 0] })
    };
    let drawing = Drawing { title: "Areas".to_owned(), items: (0..20_000).map(triangle).collect() };
    let picture = Block::Picture { drawing, height_mm: 80.0, caption: String::new() };
    let file = write(&sheet(vec![picture]), Paper::A4).unwrap();
    assert!(file.len() < 400_000, "{} bytes", file.len());
    let content = &readers::pdf::contents(&file)[0];
    assert_eq!(content.lines().filter(|line| *line == "B").count(), 8);
}

#[test]
fn what_cannot_be_set_is_named() {
    let long = table(vec![vec![], vec![String::new(); 3]]);
    let error = write(&sheet(vec![Block::Note("n".into()), long]), Paper::A4).unwrap_err();
    assert_eq!(error, SheetError::Row { block: 2, row: 2, cells: 3, columns: 2 });
    let picture = |height_mm| {
        let drawing = Drawing::default();
        sheet(vec![Block::Picture { drawing, height_mm, caption: String::new() }])
    };
    assert!(matches!(write(&picture(0.0), Paper::A4), Err(SheetError::Height { block: 1, .. })));
    assert!(matches!(write(&picture(9.0), Paper::A4), Err(SheetError::Picture { block: 1, .. })));
}
