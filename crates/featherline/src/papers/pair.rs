//! The comparison of a pair that differs, on a sheet and for other programs.

use cutting::pdf::Paper;
use cutting::sheet::{self, Align, Block, Column, Sheet, Table};
use cutting::{dxf, svg};
use geometry::drawing::{Curve, Drawing, Item, Knot, Layer, Path, Stroke};
use glam::DVec2;
use serde_json::{Value, json};
use shoe::draft::Drafted;
use shoe::last::pair::{Measured, Pair, SCALE, View, picture};
use shoe::stiffener::{Stiffener, piece};

use super::{File, MARGIN, json_bytes};

/// Lines that differ by less are left out of the table of the stiffeners, mm: what a ruler does not
/// tell.
const THE_SAME: f64 = 0.2;

/// Every file of the comparison.
pub(crate) fn files(pair: &Pair, left: &Drafted, right: &Drafted) -> anyhow::Result<Vec<File>> {
    let outlines = outlines(&left.stiffener, &right.stiffener);
    let file = |name: &str, what: &str, bytes| File { name: name.into(), what: what.into(), bytes };
    Ok(vec![
        file(
            "pair.pdf",
            "where the lasts differ, in colours, and by how much",
            sheet::write(&sheet_of(pair, left, right), Paper::A4)?,
        ),
        file("pair.json", "the same, for other programs", json_bytes(&as_json(pair, left, right))?),
        file(
            "pair-outlines.svg",
            "both stiffeners over each other at full scale, the left one mirrored",
            svg::write(&outlines, MARGIN)?.into_bytes(),
        ),
        file("pair-outlines.dxf", "the same for drawing programs", dxf::write(&outlines)?),
    ])
}

/// The measures of the lasts, then the dimensions of the stiffeners that differ.
pub(crate) fn rows(pair: &Pair, left: &Drafted, right: &Drafted) -> Vec<Measured> {
    let mut rows = pair.measures.clone();
    for dimension in left.report.dimensions.iter().filter(|d| d.unit == "mm") {
        let same = |other: &&shoe::reasons::Dimension| other.name == dimension.name;
        let Some(other) = right.report.dimensions.iter().find(same) else { continue };
        if (other.value - dimension.value).abs() >= THE_SAME {
            let name = format!("stiffener: {}", dimension.name);
            rows.push(Measured { name, left: dimension.value, right: other.value });
        }
    }
    rows
}

/// What `pair.json` holds, and what `pair --json` prints.
pub(crate) fn as_json(pair: &Pair, left: &Drafted, right: &Drafted) -> Value {
    let of_stiffeners = rows(pair, left, right).split_off(pair.measures.len());
    json!({
        "schema": 1,
        "left": left.report.job,
        "right": right.report.job,
        "measures": pair.measures,
        "stiffeners": of_stiffeners,
        "parts": pair.parts,
    })
}

/// The right stiffener unbroken, the left one mirrored and dashed, the centre backs on one line.
fn outlines(left: &Stiffener, right: &Stiffener) -> Drawing {
    let line = |stroke, curve| Item::Path(Path { layer: Layer::Mark, stroke, curve });
    let items = vec![
        line(Stroke::Solid, piece::outline(right)),
        line(Stroke::Dashed, mirrored(&piece::outline(left))),
        line(Stroke::Solid, Curve::polyline(piece::centre_back(right), false)),
    ];
    Drawing { title: "Heel stiffeners of a pair over each other".into(), items }
}

/// A difference with its sign, as a ruler is read; never a minus nought.
pub(crate) fn signed(mm: f64) -> String {
    format!("{:+.1}", (10.0 * mm).round() / 10.0 + 0.0)
}

fn mirrored(curve: &Curve) -> Curve {
    let knot = |k: &Knot| Knot { at: DVec2::new(-k.at.x, k.at.y), bulge: -k.bulge };
    Curve { knots: curve.knots.iter().map(knot).collect(), closed: curve.closed }
}

fn sheet_of(pair: &Pair, left: &Drafted, right: &Drafted) -> Sheet {
    let column = |title: &str, share: f64, align| Column { title: title.into(), share, align };
    let by = |row: &Measured| {
        vec![
            row.name.clone(),
            format!("{:.1}", row.left),
            format!("{:.1}", row.right),
            signed(row.right - row.left),
        ]
    };
    let parts = pair.parts.iter().map(|part| {
        vec![
            part.name.clone(),
            signed(part.most),
            signed(part.mean),
            format!("{:.0} mm forward, {:.0} mm up", part.at.x, part.at.z),
        ]
    });
    let mut blocks = vec![
        Block::Paragraph(
            "The left last was mirrored and laid on the right one as well as it goes without bending \
             it, parts that differ much counting little. Colours show how much fuller the right last is \
             (oranges) or the left one (purples). Two scans of one last differ by some tenths of a \
             millimetre: less than half a millimetre is shown as no difference."
                .into(),
        ),
        Block::Legend { entries: SCALE.legend(), caption: String::new() },
    ];
    for (view, words) in [
        (View::Inside, "The right last from the inside, the toe to the left."),
        (View::Outside, "From the outside, the toe to the right."),
        (View::Below, "From below, the toe to the right, the outside up."),
    ] {
        blocks.push(Block::Picture {
            drawing: picture(pair, view),
            height_mm: 48.0,
            caption: words.into(),
        });
    }
    blocks.extend([
        Block::Heading("By part of the last, mm".into()),
        Block::Table(Table {
            columns: vec![
                column("Part", 2.0, Align::Left),
                column("Right fuller by, most", 2.0, Align::Right),
                column("On average", 1.4, Align::Right),
                column("Where that is", 2.6, Align::Left),
            ],
            rows: parts.collect(),
        }),
        Block::Heading("By tape and ruler, mm".into()),
        Block::Table(Table {
            columns: vec![
                column("Measure", 4.0, Align::Left),
                column("Left", 1.2, Align::Right),
                column("Right", 1.2, Align::Right),
                column("Right - left", 1.4, Align::Right),
            ],
            rows: rows(pair, left, right).iter().map(by).collect(),
        }),
        Block::Heading("The stiffeners over each other".into()),
        Block::Picture {
            drawing: outlines(&left.stiffener, &right.stiffener),
            height_mm: 60.0,
            caption: "Unbroken: right. Dashed: left, mirrored. Not to scale.".into(),
        },
        Block::Note(
            "Feet that differ much belong with people licensed for them: a pattern certifies nothing."
                .into(),
        ),
    ]);
    Sheet {
        title: "A pair that differs".into(),
        subtitle: format!("left: {}; right: {}", left.report.job, right.report.job),
        footer: "measured on the lasts as scanned; local rules come first".into(),
        blocks,
    }
}
