//! Reads the polylines of a DXF file.

use geometry::drawing::{Curve, Knot};
use glam::DVec2;

use super::{Line, Piece};

pub(crate) fn lines(file: &[u8]) -> Vec<Line> {
    assert!(file.is_ascii());
    let text = std::str::from_utf8(file).unwrap();
    assert!(text.split('\n').all(|l| l.is_empty() || l.ends_with('\r')), "a bare line feed");
    let rows: Vec<&str> = text.lines().collect();
    let pairs = rows.chunks(2).map(|pair| (pair[0].trim(), pair[1].trim()));
    let mut entities: Vec<Vec<(&str, &str)>> = Vec::new();
    for (code, value) in pairs {
        if code == "0" {
            entities.push(Vec::new());
        }
        if let Some(entity) = entities.last_mut() {
            entity.push((code, value));
        }
    }
    let mut curves: Vec<Curve> = Vec::new();
    for entity in &entities {
        let value = |code: &str| entity.iter().find(|(c, _)| *c == code).map(|(_, v)| *v);
        let number = |code: &str| value(code).map(|v| v.parse::<f64>().unwrap());
        match entity[0].1 {
            "POLYLINE" => {
                curves.push(Curve { knots: Vec::new(), closed: value("70") == Some("1") });
            }
            "VERTEX" => {
                let at = DVec2::new(number("10").unwrap(), number("20").unwrap());
                let bulge = number("42").unwrap_or(0.0);
                curves.last_mut().unwrap().knots.push(Knot { at, bulge });
            }
            _ => {}
        }
    }
    curves.iter().map(line).collect()
}

fn line(curve: &Curve) -> Line {
    let piece = |(a, b): (Knot, Knot)| {
        if a.bulge == 0.0 { Piece::Line(a.at, b.at) } else { Piece::Arc(a, b) }
    };
    Line { pieces: curve.pieces().map(piece).collect(), closed: curve.closed }
}
