//! Writes an invented test drawing in every format, for the checks by independent readers.
//!
//! `cargo run -p featherline-cutting --example ruler -- FOLDER`

use std::error::Error;
use std::path::Path as FilePath;

use cutting::pdf::{PageOptions, Paper, TileOptions, write_page, write_tiled};
use cutting::{dxf, svg};
use geometry::drawing::{Anchor, Area, Curve, Drawing, Item, Knot, Layer, Path, Stroke, Text};
use glam::{DVec2, dvec2};

/// Tangent of an eighth turn's quarter: the bulge of a quarter circle.
const QUARTER: f64 = 0.414_213_562_373_095_03;

fn main() -> Result<(), Box<dyn Error>> {
    let folder = std::env::args().nth(1).ok_or("give the folder to write to")?;
    let folder = FilePath::new(&folder);
    std::fs::create_dir_all(folder)?;
    let drawing = ruler();
    std::fs::write(folder.join("ruler.svg"), svg::write(&drawing, 5.0)?)?;
    std::fs::write(folder.join("ruler.dxf"), dxf::write(&drawing)?)?;
    std::fs::write(folder.join("ruler.pdf"), write_page(&drawing, PageOptions::default())?)?;
    for paper in Paper::all() {
        let tiled = write_tiled(&drawing, paper, TileOptions::default())?;
        let name = format!("ruler-{}.pdf", paper.name().to_lowercase());
        std::fs::write(folder.join(name), tiled.bytes)?;
    }
    Ok(())
}

/// A line and a square of 100 mm, and an outline of 420 x 300 mm: three corners rounded with 40 mm,
/// one left sharp, a half circle of 50 mm bitten out of its top. Off the origin on purpose.
fn ruler() -> Drawing {
    let from = dvec2(-37.25, 12.5);
    let at = |x: f64, y: f64| from + dvec2(x, y);
    let mut items = vec![
        path(Layer::Mark, Stroke::Solid, line(at(60.0, 40.0), at(160.0, 40.0))),
        path(Layer::Cut, Stroke::Solid, square(at(60.0, 60.0), 100.0)),
        path(Layer::Cut, Stroke::Solid, outline(from)),
        path(Layer::Mark, Stroke::Dashed, line(at(20.0, 150.0), at(400.0, 190.0))),
        path(Layer::Mark, Stroke::Chain, line(at(210.0, 10.0), at(210.0, 190.0))),
        path(Layer::Text, Stroke::Solid, line(at(230.0, 100.0), at(300.0, 30.0))),
    ];
    items.extend([
        text(
            Layer::Cut,
            at(230.0, 140.0),
            5.0,
            0.0,
            Anchor::Start,
            "Cut: 100 % & <half> \"½\" ±2°",
        ),
        text(Layer::Mark, at(390.0, 60.0), 4.0, 90.0, Anchor::Middle, "Mark – Ø8 × 3 ≤ 5 → %%d"),
        text(Layer::Text, at(300.0, 28.0), 3.0, 15.0, Anchor::End, "Łódź\\path ^caret 'é'"),
    ]);
    items.extend((0..6_u8).map(|i| {
        let low = at(240.0 + 12.0 * f64::from(i), 205.0);
        let outline = square(low, 12.0).knots.iter().map(|k| k.at).collect();
        Item::Area(Area { outline, color: [40 * i, 120, 255 - 40 * i] })
    }));
    Drawing { title: "Ruler <test> & \"check\" – invented".to_owned(), items }
}

fn outline(from: DVec2) -> Curve {
    let knot = |x: f64, y: f64, bulge: f64| Knot { at: from + dvec2(x, y), bulge };
    let knots = vec![
        knot(40.0, 0.0, 0.0),
        knot(380.0, 0.0, QUARTER),
        knot(420.0, 40.0, 0.0),
        knot(420.0, 300.0, 0.0),
        knot(260.0, 300.0, -1.0),
        knot(160.0, 300.0, 0.0),
        knot(40.0, 300.0, QUARTER),
        knot(0.0, 260.0, 0.0),
        knot(0.0, 40.0, QUARTER),
    ];
    Curve { knots, closed: true }
}

fn line(from: DVec2, to: DVec2) -> Curve {
    Curve::polyline([from, to], false)
}

fn square(low: DVec2, side: f64) -> Curve {
    let corners = [(0.0, 0.0), (side, 0.0), (side, side), (0.0, side)];
    Curve::polyline(corners.map(|c| low + DVec2::from(c)), true)
}

fn path(layer: Layer, stroke: Stroke, curve: Curve) -> Item {
    Item::Path(Path { layer, stroke, curve })
}

fn text(layer: Layer, at: DVec2, height: f64, angle: f64, anchor: Anchor, content: &str) -> Item {
    Item::Text(Text { layer, at, height, angle, anchor, content: content.to_owned() })
}
