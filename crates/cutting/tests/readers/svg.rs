//! Reads the paths of an SVG file, turned so that y is up.

use geometry::drawing::Knot;
use glam::DVec2;

use super::{Line, Piece};

pub(crate) fn lines(svg: &str) -> Vec<Line> {
    svg.split("<path d=\"").skip(1).map(|rest| line(rest.split('"').next().unwrap())).collect()
}

fn line(data: &str) -> Line {
    let mut words = data.split(' ');
    let mut next = || words.next();
    let mut line = Line::default();
    let mut last = DVec2::ZERO;
    let mut first = DVec2::ZERO;
    while let Some(command) = next() {
        let mut number = || next().unwrap().parse::<f64>().unwrap();
        match command {
            "M" => {
                last = DVec2::new(number(), -number());
                first = last;
            }
            "L" => {
                let to = DVec2::new(number(), -number());
                line.pieces.push(Piece::Line(last, to));
                last = to;
            }
            "A" => {
                let (radius, again, tilt) = (number(), number(), number());
                assert_eq!((radius, 0.0), (again, tilt));
                let (large, clockwise) = (number() == 1.0, number() == 1.0);
                let to = DVec2::new(number(), -number());
                let half = (last.distance(to) / 2.0 / radius).min(1.0).asin();
                let turn = if large { std::f64::consts::PI - half } else { half };
                let bulge = (turn / 2.0).tan() * if clockwise { -1.0 } else { 1.0 };
                line.pieces.push(Piece::Arc(Knot { at: last, bulge }, Knot { at: to, bulge: 0.0 }));
                last = to;
            }
            "Z" => {
                assert_eq!(last, first, "a closed path must end where it began");
                line.closed = true;
            }
            other => panic!("unknown command {other}"),
        }
    }
    line
}
