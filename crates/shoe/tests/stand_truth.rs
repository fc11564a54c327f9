//! Standing built lasts, whose truth is known, from any pose and unit.

use geometry::mesh::TriMesh;
use geometry::units::{Mm, Unit};
use glam::{DAffine3, DMat3, DQuat, DVec3};
use shoe::last::build::{BuiltLast, LastMeasures, build_last};
use shoe::last::feather::EdgeKind;
use shoe::last::marks::{Foot, Source};
use shoe::last::stand::{Given, Last, stand};

/// A last to build and where to hide it.
struct Case {
    eu: f64,
    foot: Foot,
    heel: f64,
    radius: f64,
    unit: Unit,
    turn: (DVec3, f64),
}

/// Both feet, four sizes, heels from 10 to 60 mm, sharp and rounded edges, all units.
fn cases() -> Vec<Case> {
    use Foot::{Left, Right};
    let case = |eu, foot, heel, radius, unit, axis: [f64; 3], angle| Case {
        eu,
        foot,
        heel,
        radius,
        unit,
        turn: (DVec3::from_array(axis).normalize(), angle),
    };
    vec![
        case(36.0, Right, 25.0, 0.0, Unit::Mm, [0.3, -0.5, 0.8], 2.1),
        case(36.0, Left, 60.0, 2.0, Unit::Cm, [-0.9, 0.1, 0.4], 1.2),
        case(39.0, Right, 40.0, 4.0, Unit::M, [0.2, 0.9, -0.1], 3.0),
        case(39.0, Left, 10.0, 0.0, Unit::In, [0.5, 0.5, 0.7], -1.7),
        case(42.0, Right, 60.0, 0.0, Unit::Cm, [-0.1, -0.7, -0.7], 0.6),
        case(42.0, Left, 25.0, 4.0, Unit::Mm, [1.0, 0.0, 0.2], 2.8),
        case(46.0, Right, 10.0, 2.0, Unit::In, [0.0, 1.0, 0.05], 1.5),
        case(46.0, Left, 40.0, 0.0, Unit::M, [0.6, -0.6, 0.5], -2.4),
        case(36.0, Right, 10.0, 4.0, Unit::Mm, [-0.4, 0.8, 0.4], 0.9),
        case(46.0, Left, 60.0, 2.0, Unit::Mm, [0.1, 0.2, -1.0], 2.9),
    ]
}

fn standard_length(eu: f64) -> f64 {
    eu * 20.0 / 3.0
}

struct Hidden {
    built: BuiltLast,
    /// In the file's coordinates.
    mesh: TriMesh,
    file_from_truth: DAffine3,
}

fn hide(case: &Case) -> Hidden {
    let mut measures = LastMeasures::for_size(standard_length(case.eu), case.foot);
    measures.heel_height = case.heel;
    measures.edge_radius = case.radius;
    let built = build_last(&measures).unwrap();
    let turned = DMat3::from_quat(DQuat::from_axis_angle(case.turn.0, case.turn.1));
    let file_from_truth = DAffine3 {
        matrix3: turned * (1.0 / case.unit.in_mm()),
        translation: DVec3::new(123.0, -45.0, 67.0) / case.unit.in_mm(),
    };
    let mesh = moved(&built.mesh, &file_from_truth);
    Hidden { built, mesh, file_from_truth }
}

fn moved(mesh: &TriMesh, by: &DAffine3) -> TriMesh {
    TriMesh {
        positions: mesh.positions.iter().map(|p| by.transform_point3(*p)).collect(),
        triangles: mesh.triangles.clone(),
    }
}

fn away_from_closed_line(p: DVec3, line: &[DVec3]) -> f64 {
    (0..line.len())
        .map(|i| {
            let (a, b) = (line[i], line[(i + 1) % line.len()]);
            let side = b - a;
            let t = ((p - a).dot(side) / side.length_squared().max(1e-30)).clamp(0.0, 1.0);
            p.distance(a + side * t)
        })
        .fold(f64::INFINITY, f64::min)
}

/// Largest distance of either line from the other.
fn apart(a: &[DVec3], b: &[DVec3]) -> f64 {
    let one_way = |a: &[DVec3], b: &[DVec3]| {
        a.iter().map(|p| away_from_closed_line(*p, b)).fold(0.0, f64::max)
    };
    one_way(a, b).max(one_way(b, a))
}

/// Everything wrong with `last` against the truth, as text; empty when all is well.
fn faults(name: &str, case: &Case, hidden: &Hidden, last: &Last) -> Vec<String> {
    let truth = &hidden.built.truth;
    let last_from_truth = last.last_from_file * hidden.file_from_truth;
    let there = |p: DVec3| last_from_truth.transform_point3(p);
    let line: Vec<DVec3> = truth.feather_line.iter().map(|p| there(*p)).collect();
    let feather = apart(&last.marks.feather_line.points, &line);
    let medial = last.marks.joint_medial.at.distance(there(truth.joint_medial));
    let lateral = last.marks.joint_lateral.at.distance(there(truth.joint_lateral));
    let seat = there(truth.seat).length();
    let up = (last_from_truth.matrix3 * DVec3::Z).angle_between(DVec3::Z).to_degrees();
    println!(
        "{name}: feather {feather:.3} mm, joints {medial:.2} and {lateral:.2} mm, seat {seat:.2} mm, \
         up {up:.2} deg, heel {:.2} of {}, {:?} {:.2}",
        last.heel_height, case.heel, last.marks.feather_line.edge, last.marks.feather_line.sureness
    );
    let mut out = Vec::new();
    let mut check = |fine: bool, what: &str, value: f64| {
        if !fine {
            out.push(format!("{name}: {what} {value:.3}"));
        }
    };
    check(last.foot == case.foot, "wrong foot", 0.0);
    check(last.unit == case.unit, "wrong unit", 0.0);
    check(feather < 1.0, "feather line off by mm", feather);
    check(medial < 5.0, "inside joint off by mm", medial);
    check(lateral < 5.0, "outside joint off by mm", lateral);
    check(up < 2.0, "up is off by degrees", up);
    let sharp = last.marks.feather_line.edge == EdgeKind::Sharp;
    check(sharp == (case.radius == 0.0), "wrong kind of edge, radius", case.radius);
    out
}

#[test]
fn built_lasts_stand_up_from_any_pose_and_unit() {
    let mut wrong = Vec::new();
    for (i, case) in cases().iter().enumerate() {
        let hidden = hide(case);
        let mut given = Given::size_only(Mm::new(standard_length(case.eu)));
        given.heel_height = Some(Mm::new(case.heel));
        let name =
            format!("{i}: {} {:?} heel {} edge {}", case.eu, case.foot, case.heel, case.radius);
        match stand(&hidden.mesh, &given) {
            Ok(last) => wrong.extend(faults(&name, case, &hidden, &last.value)),
            Err(e) => wrong.push(format!("{name}: {e}")),
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn without_a_heel_height_the_seat_is_level() {
    for case in cases().iter().take(4) {
        let hidden = hide(case);
        let given = Given::size_only(Mm::new(standard_length(case.eu)));
        let last = stand(&hidden.mesh, &given).unwrap().value;
        println!("heel {} found {:.1}", case.heel, last.heel_height);
        assert_eq!(last.foot, case.foot);
        assert_eq!(last.marks.seat.source, Source::Found);
    }
}
