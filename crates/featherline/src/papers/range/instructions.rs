//! The sheet of a range: the sizes over each other, the grade table, what a shared piece costs, and
//! what the nicks say.

use cutting::sheet::{Align, Block, Column, Sheet, Table};
use shoe::cautions::cautions;
use shoe::foot::Foot;
use shoe::range::{GradeTable, Piece, nest};
use shoe::reasons::Verdict;
use shoe::size::Size;
use shoe::stiffener::size_nicks;

use super::feet;

/// Sizes side by side in one table of the sheet: more cannot be read on A4.
const SIDE_BY_SIDE: usize = 7;

/// What does not change by more than this through the sizes is told once, mm.
const THE_SAME: f64 = 0.05;

/// The sheet for `pieces`.
pub(super) fn sheet(pieces: &[Piece], job_name: &str) -> Sheet {
    let by_foot = GradeTable::all(pieces);
    let mut sizes: Vec<String> = pieces.iter().map(Piece::sizes_in_words).collect();
    sizes.dedup();
    let several = pieces.iter().any(|piece| piece.shared.is_some());
    let mut blocks = vec![Block::Paragraph(format!(
        "Heel stiffeners (US: counters) in {}. Each was drawn on the last of its own size{} and laid flat \
         from there: none is another one scaled. Cut by the full-scale pages of the sizes, not by the \
         pictures here.",
        sizes.join(", "),
        if several { ", of the largest that it serves," } else { "" }
    ))];
    for foot in feet(pieces) {
        blocks.push(Block::Heading(format!("The {foot} foot")));
        blocks.push(Block::Picture {
            drawing: nest(pieces, foot, job_name),
            height_mm: 75.0,
            caption: "All sizes over each other, the centre back on one line. Not to scale.".into(),
        });
    }
    let alike = |table: &&GradeTable| {
        let other = by_foot.iter().find(|t| t.foot != table.foot && t.fitting == table.fitting);
        other.is_some_and(|other| table.agrees(other))
    };
    for table in &by_foot {
        let fitting = table.fitting.as_ref().map(|f| format!(", fitting {f}")).unwrap_or_default();
        let feet = match (alike(&table), table.foot) {
            (true, Foot::Left) => continue,
            (true, Foot::Right) => "both feet alike".to_owned(),
            (false, foot) => format!("{foot} foot"),
        };
        blocks.push(Block::Heading(format!("Grade table, {feet}{fitting}, mm")));
        blocks.extend(tables(table));
    }
    blocks.extend(one_for_several(pieces));
    blocks.extend(nicks(pieces));
    let failed: Vec<String> = pieces
        .iter()
        .flat_map(|piece| {
            let failed = piece.drafted.report.checks.iter().filter(|c| c.verdict == Verdict::Fail);
            failed.map(|c| format!("{}: {} (wanted: {})", piece.wanted, c.name, c.limit))
        })
        .collect();
    blocks.push(Block::Heading("Checks".into()));
    blocks.push(Block::Paragraph(if failed.is_empty() {
        "No check failed in any size; what stays open stands in the file of each size.".into()
    } else {
        format!("These failed; look at them before you cut:\n{}", failed.join("\n"))
    }));
    blocks.extend(cautions_of(pieces).into_iter().map(Block::Note));
    Sheet {
        title: "Heel stiffener, all sizes".into(),
        subtitle: job_name.to_owned(),
        footer: format!("{job_name} · a pattern certifies nothing; local rules come first"),
        blocks,
    }
}

/// What a piece for several sizes costs each of them.
fn one_for_several(pieces: &[Piece]) -> Vec<Block> {
    let shared = pieces.iter().filter_map(|piece| Some((piece, piece.shared.as_ref()?)));
    let rows: Vec<Vec<String>> = shared
        .flat_map(|(piece, shared)| {
            shared.costs.iter().map(|cost| {
                let [inside, outside] = cost.wing_nearer;
                let mut cells = vec![format!("{}, {}", cost.size, piece.wanted.foot)];
                let lengths = [cost.back_lower, cost.edge_lower, inside, outside, cost.flat_apart];
                cells.extend(lengths.map(|mm| format!("{:.1}", mm + 0.0)));
                cells
            })
        })
        .collect();
    if rows.is_empty() {
        return Vec::new();
    }
    let column = |title: &str, share: f64| Column {
        title: title.into(),
        share,
        align: if share > 2.0 { Align::Left } else { Align::Right },
    };
    vec![
        Block::Heading("What one stiffener for several sizes costs each of them, mm".into()),
        Block::Paragraph(
            "The smallest size governs the top, so that it bites none; the largest governs the length, \
             so that it supports all. Against a piece of its own each size loses this much. Where the \
             feather line runs off by more than about 1 mm, lasting has to pull or push it there \
             (common practice, no source)."
                .into(),
        ),
        Block::Table(Table {
            columns: vec![
                column("Size and foot", 2.4),
                column("Back lower", 1.4),
                column("Edge lower, most", 1.4),
                column("Inside wing nearer to the joint", 1.8),
                column("Outside wing nearer", 1.6),
                column("Feather line off", 1.4),
            ],
            rows,
        }),
    ]
}

/// What the nicks of a size say, and which sizes have none.
fn nicks(pieces: &[Piece]) -> Vec<Block> {
    let mut sizes: Vec<Size> = pieces.iter().map(|piece| piece.wanted.size).collect();
    sizes.dedup();
    let bare = pieces.iter().filter(|piece| piece.drafted.stiffener.size_nicks.is_empty());
    let bare: Vec<String> = bare.map(|piece| piece.wanted.to_string()).collect();
    let mut blocks = vec![
        Block::Heading("The nicks that tell the size".into()),
        Block::Paragraph(
            "In the margin of the outside wing, forward of its one nick, stands the last figure of the \
             size. A nick that slants towards the wing's end counts five, a straight one counts one, and \
             one that slants back towards the heel a half; ten stands for nought. Sizes in millimetres \
             are told in centimetres. The fitting is told in print only, and a piece for several sizes \
             has the nicks of the largest."
                .into(),
        ),
        Block::Picture {
            drawing: size_nicks::picture(&sizes),
            height_mm: size_nicks::picture_height(&sizes),
            caption: "The outside wing of a right foot, the heel to the left; a left foot is the mirror \
                      image."
                .into(),
        },
    ];
    if !bare.is_empty() {
        blocks.push(Block::Paragraph(format!(
            "No room for them, the size stands in print only: {}.",
            bare.join("; ")
        )));
    }
    blocks
}

fn cautions_of(pieces: &[Piece]) -> Vec<String> {
    pieces.first().map(|piece| cautions(&piece.drafted.stiffener.brief)).unwrap_or_default()
}

/// The rows that change, a few sizes side by side; then what is the same in all.
fn tables(table: &GradeTable) -> Vec<Block> {
    let changes = |row: &&shoe::range::GradeRow| {
        let values = row.values.iter().map(|v| v.value);
        let (low, high) = values.fold((f64::MAX, f64::MIN), |(l, h), v| (l.min(v), h.max(v)));
        high - low > THE_SAME
    };
    let rows: Vec<_> = table.rows.iter().filter(changes).collect();
    let mut blocks = Vec::new();
    let column = |title: &str, share: f64, align| Column { title: title.into(), share, align };
    for start in (0..table.sizes.len()).step_by(SIDE_BY_SIDE) {
        let end = (start + SIDE_BY_SIDE).min(table.sizes.len());
        let mut columns = vec![column("Dimension", 4.2, Align::Left)];
        columns.extend(table.sizes[start..end].iter().map(|size| column(size, 1.2, Align::Right)));
        columns.push(column("Step", 1.0, Align::Right));
        let lines = rows.iter().map(|row| {
            let digits = usize::from(row.unit != "count");
            let mut cells = vec![row.name.clone()];
            cells.extend(row.values[start..end].iter().map(|v| {
                format!("{:.digits$}{}", v.value, if v.held.is_some() { "*" } else { "" })
            }));
            cells.push(row.usual_step.map_or(String::new(), |step| format!("{step:+.digits$}")));
            cells
        });
        blocks.push(Block::Table(Table { columns, rows: lines.collect() }));
    }
    let mut held: Vec<String> = rows
        .iter()
        .flat_map(|row| {
            row.values.iter().zip(&table.sizes).filter_map(|(value, size)| {
                value.held.as_ref().map(|why| format!("* {}, {size}: {why}", row.name))
            })
        })
        .collect();
    held.dedup();
    if !held.is_empty() {
        blocks.push(Block::Paragraph(held.join("\n")));
    }
    let same: Vec<String> = table
        .rows
        .iter()
        .filter(|row| !changes(row))
        .filter_map(|row| {
            let digits = usize::from(row.unit != "count");
            row.values.first().map(|v| format!("{} {:.digits$}", row.name, v.value))
        })
        .collect();
    if !same.is_empty() {
        blocks.push(Block::Paragraph(format!("The same in every size: {}.", same.join("; "))));
    }
    blocks
}
