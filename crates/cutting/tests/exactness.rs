//! One suite over every writer: what is written is what was drawn, to the numbers promised.

#![allow(clippy::unwrap_used, reason = "a test fails by panicking")]

mod readers;

use std::f64::consts::{PI, TAU};

use cutting::pdf::{PageOptions, Paper, TileOptions, write_page, write_tiled};
use cutting::{dxf, svg};
use geometry::drawing::{Anchor, Arc, Curve, Drawing, Item, Knot, Layer, Path, Stroke, Text};
use glam::{DVec2, dvec2};
use proptest::prelude::*;
use readers::Line;

/// Furthest that a written line may lie from the drawn one, mm.
const TOLERANCE: f64 = 0.000_5;

/// A format: writes a drawing, and reads its lines again in their order, moved as a whole.
struct Format {
    name: &'static str,
    write: fn(&Drawing) -> Result<Vec<u8>, String>,
    read: fn(&[u8]) -> Vec<Line>,
}

const FORMATS: [Format; 4] = [
    Format {
        name: "svg",
        write: |d| svg::write(d, 5.0).map(String::into_bytes).map_err(|e| e.to_string()),
        read: |file| readers::svg::lines(std::str::from_utf8(file).unwrap()),
    },
    Format {
        name: "dxf",
        write: |d| dxf::write(d).map_err(|e| e.to_string()),
        read: readers::dxf::lines,
    },
    Format {
        name: "pdf",
        write: |d| write_page(d, PageOptions::default()).map_err(|e| e.to_string()),
        read: |file| readers::pdf::lines(&readers::pdf::contents(file)[0]),
    },
    Format {
        name: "tiled pdf",
        write: |d| {
            let tiled = write_tiled(d, Paper::A4, TileOptions::default());
            tiled.map(|t| t.bytes).map_err(|e| e.to_string())
        },
        read: |file| readers::pdf::lines(readers::pdf::contents(file).last().unwrap()),
    },
];

fn drawing(curves: impl IntoIterator<Item = Curve>) -> Drawing {
    let path = |curve| Item::Path(Path { layer: Layer::Cut, stroke: Stroke::Solid, curve });
    Drawing { title: "Invented".to_owned(), items: curves.into_iter().map(path).collect() }
}

fn words(height: f64) -> Item {
    let content = "Łódź ≤ ½ & 靴".to_owned();
    let (at, anchor) = (dvec2(3.0, 3.0), Anchor::Start);
    Item::Text(Text { layer: Layer::Text, at, height, angle: 10.0, anchor, content })
}

fn knots(corners: &[(f64, f64, f64)], closed: bool) -> Curve {
    let knot = |&(x, y, bulge): &(f64, f64, f64)| Knot { at: dvec2(x, y), bulge };
    Curve { knots: corners.iter().map(knot).collect(), closed }
}

/// The lines of the drawing as the format holds them, moved back onto the drawing.
fn read_back(format: &Format, drawing: &Drawing) -> Vec<Line> {
    let file = (format.write)(drawing).unwrap_or_else(|e| panic!("{}: {e}", format.name));
    let mut lines = (format.read)(&file);
    assert!(lines.len() >= drawing.items.len(), "{}: lines are missing", format.name);
    // What a file adds of its own comes after the drawing.
    lines.truncate(drawing.items.len());
    lines
}

fn curves(drawing: &Drawing) -> impl Iterator<Item = &Curve> {
    drawing.items.iter().filter_map(|item| match item {
        Item::Path(path) => Some(&path.curve),
        _ => None,
    })
}

fn distance_to_curve(p: DVec2, curve: &Curve) -> f64 {
    let to_piece = |(a, b): (Knot, Knot)| match Arc::between(a, b) {
        None => {
            let along = b.at - a.at;
            let share = ((p - a.at).dot(along) / along.length_squared()).clamp(0.0, 1.0);
            p.distance(a.at + along * share)
        }
        Some(arc) => {
            let turned = ((p - arc.center).to_angle() - arc.start) * arc.sweep.signum();
            let beside = turned.rem_euclid(TAU) > arc.sweep.abs();
            let ends = p.distance(a.at).min(p.distance(b.at));
            if beside { ends } else { (p.distance(arc.center) - arc.radius).abs() }
        }
    };
    curve.pieces().map(to_piece).fold(f64::INFINITY, f64::min)
}

/// The length of a line of chords.
fn length(points: &[DVec2], closed: bool) -> f64 {
    Curve::polyline(points.iter().copied(), closed).length()
}

/// Holds every written line against the drawn one: place, order, sense, closedness.
fn check(drawing: &Drawing) {
    for format in &FORMATS {
        let lines = read_back(format, drawing);
        let first = curves(drawing).next().unwrap().knots[0].at;
        let moved = first - lines[0].pieces[0].at(0.0);
        for (line, curve) in lines.iter().zip(curves(drawing)) {
            assert_eq!(line.closed, curve.closed, "{}", format.name);
            let points: Vec<DVec2> = line.points(64).iter().map(|p| *p + moved).collect();
            let start = points[0].distance(curve.knots[0].at);
            assert!(start <= TOLERANCE, "{}: starts {start} mm off", format.name);
            for p in &points {
                let off = distance_to_curve(*p, curve);
                assert!(off <= TOLERANCE, "{}: {off} mm off at {p}", format.name);
            }
            // As long as the curve, and near it all along: no part of it is left out.
            let drawn = curve.length();
            let written = length(&points, line.closed);
            let lost = (drawn - written).abs() / drawn;
            assert!(lost < 5e-4, "{}: {written} mm of {drawn} mm", format.name);
        }
    }
}

#[test]
fn a_line_of_100_mm_is_100_mm() {
    let ruler = drawing([knots(&[(-31.7, 18.3, 0.0), (68.3, 18.3, 0.0)], false)]);
    for format in &FORMATS {
        let line = &read_back(format, &ruler)[0];
        let written = length(&line.points(1), false);
        assert!((written - 100.0).abs() < 1e-5, "{}: {written}", format.name);
    }
}

#[test]
fn areas_agree() {
    let quarter = (PI / 8.0).tan();
    let rounded = [
        (20.0, 0.0, 0.0),
        (80.0, 0.0, quarter),
        (100.0, 20.0, 0.0),
        (100.0, 60.0, 0.0),
        (70.0, 60.0, -1.0),
        (30.0, 60.0, 0.0),
        (0.0, 60.0, 0.0),
        (0.0, 20.0, quarter),
    ];
    let area = 6000.0 - 2.0 * 400.0 * (1.0 - PI / 4.0) - PI * 200.0;
    let piece = drawing([knots(&rounded, true)]);
    for format in &FORMATS {
        let points = read_back(format, &piece)[0].points(512);
        let written = Curve::polyline(points, true).area();
        assert!((written - area).abs() / area < 1e-5, "{}: {written} not {area}", format.name);
    }
}

#[test]
fn arcs_of_every_turn_keep_their_side() {
    let bulges = [0.01, 0.3, 1.0, 2.5, 9.0, -0.01, -0.3, -1.0, -2.5, -9.0];
    let curves = bulges.map(|b| knots(&[(60.0, 70.0, b), (66.0, 78.0, 0.0)], false));
    check(&drawing(curves));
}

#[test]
fn a_full_circle_of_two_halves_is_round() {
    check(&drawing([knots(&[(0.0, 0.0, 1.0), (120.0, 0.0, 1.0)], true)]));
}

/// A radius rounded up by 0.000 000 5 mm moves the centre of a half circle by 0.004 mm.
#[test]
fn half_circles_with_awkward_radii_are_not_moved_by_rounding() {
    let turns = (1..40).map(|i| {
        let end = (17.0 + 0.013_456_7 * f64::from(i)) * DVec2::from_angle(f64::from(i));
        knots(&[(50.0, 50.0, 1.0 - 1e-9 * f64::from(i)), (50.0 + end.x, 50.0 + end.y, 0.0)], false)
    });
    check(&drawing(turns));
}

#[test]
fn shapes_without_length_do_no_harm() {
    let same = knots(&[(5.0, 5.0, 0.5), (5.0, 5.0, 0.0), (9.0, 5.0, 1e-14), (9.0, 9.0, 0.0)], true);
    let lone = knots(&[(1.0, 1.0, 0.7)], true);
    let none = knots(&[], false);
    let line = knots(&[(0.0, 0.0, 0.0), (10.0, 10.0, 0.0)], false);
    for format in &FORMATS {
        let file =
            (format.write)(&drawing([line.clone(), same.clone(), lone.clone(), none.clone()]));
        let file = file.unwrap_or_else(|e| panic!("{}: {e}", format.name));
        let text = String::from_utf8_lossy(&file);
        assert!(!text.contains("NaN") && !text.contains("inf"), "{}", format.name);
    }
}

#[test]
fn what_cannot_be_written_is_named() {
    let empty = drawing([]);
    let broken = drawing([
        knots(&[(0.0, 0.0, 0.0), (1.0, 0.0, 0.0)], false),
        knots(&[(0.0, 0.0, 0.0), (7.5, f64::NAN, 0.0)], false),
    ]);
    let far = drawing([knots(&[(0.0, 0.0, f64::INFINITY), (1.0, 0.0, 0.0)], false)]);
    let flat = Drawing { title: "Invented".to_owned(), items: vec![words(0.0)] };
    for format in &FORMATS {
        let said = (format.write)(&empty).unwrap_err();
        assert!(said.contains("Invented") && said.contains("empty"), "{}: {said}", format.name);
        let said = (format.write)(&broken).unwrap_err();
        assert!(said.contains("item 2") && said.contains("7.5"), "{}: {said}", format.name);
        assert!((format.write)(&far).unwrap_err().contains("item 1"), "{}", format.name);
        let said = (format.write)(&flat).unwrap_err();
        assert!(said.contains("Łódź") && said.contains("0 mm high"), "{}: {said}", format.name);
    }
}

#[test]
fn a_line_without_height_still_has_a_page() {
    let line = drawing([knots(&[(0.0, 0.0, 0.0), (50.0, 0.0, 0.0)], false)]);
    let bare = svg::write(&line, 0.0).unwrap();
    assert!(bare.contains("viewBox=\"0 0 50 1\""), "{bare}");
    assert!(write_page(&line, PageOptions { margin: 0.0, footer: false }).is_ok());
}

#[test]
fn a_text_too_long_for_dxf_is_named_and_fits_elsewhere() {
    let mut long = drawing([knots(&[(0.0, 0.0, 0.0), (1.0, 0.0, 0.0)], false)]);
    long.items.push(words(3.0));
    if let Some(Item::Text(text)) = long.items.last_mut() {
        text.content = "Жук ".repeat(20);
    }
    let error = dxf::write(&long).unwrap_err();
    assert!(matches!(error, dxf::DxfError::TextTooLong { length: 440, .. }), "{error}");
    assert!(svg::write(&long, 0.0).is_ok());
}

#[test]
fn the_same_drawing_gives_the_same_bytes() {
    let mut piece = drawing([knots(&[(0.0, 0.0, 0.4), (30.0, 0.0, 0.0), (10.0, 20.0, 0.0)], true)]);
    piece.items.push(words(3.0));
    for format in &FORMATS {
        assert_eq!((format.write)(&piece), (format.write)(&piece), "{}", format.name);
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(60))]

    #[test]
    fn random_curves_come_back(
        corners in prop::collection::vec((0.0_f64..80.0, 0.0_f64..80.0, -1.0_f64..1.0), 2..9),
        closed in any::<bool>(),
        bend in 0.0_f64..1.0,
    ) {
        let bent: Vec<_> = corners.iter().map(|&(x, y, b)| (x, y, b * bend)).collect();
        let near = |a: &(f64, f64, f64), b: &(f64, f64, f64)| {
            (a.0 - b.0).abs() + (a.1 - b.1).abs() < 0.1
        };
        prop_assume!(bent.iter().enumerate().all(|(i, a)| bent[..i].iter().all(|b| !near(a, b))));
        check(&drawing([knots(&bent, closed)]));
    }

    #[test]
    fn large_arcs_stay_within_the_promise(radius in 200.0_f64..2000.0, turn in 0.01_f64..3.0) {
        // On one page: tiles would cut it.
        let ends = [dvec2(radius, 0.0), radius * DVec2::from_angle(turn)];
        let bulge = (turn / 4.0).tan();
        let knots = vec![Knot { at: ends[0], bulge }, Knot { at: ends[1], bulge: 0.0 }];
        let arc = drawing([Curve { knots, closed: false }]);
        let line = &read_back(&FORMATS[2], &arc)[0];
        let moved = ends[0] - line.pieces[0].at(0.0);
        for p in line.points(64) {
            let off = ((p + moved).length() - radius).abs();
            prop_assert!(off <= TOLERANCE, "{off} mm off a radius of {radius}");
        }
    }
}
