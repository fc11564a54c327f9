//! Standing built lasts, whose truth is known, from any pose and unit.

mod lasts;

use geometry::units::{Mm, Unit};
use glam::DVec3;
use lasts::{Case, Hidden, away_from_closed_line, hide, standard_length};
use shoe::last::feather::EdgeKind;
use shoe::last::marks::{Foot, Found};
use shoe::last::stand::{Given, Last, stand};

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
    eprintln!(
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
fn without_a_heel_height_it_is_found_within_4_mm_and_said_to_be_unsure() {
    for case in cases().iter().take(4) {
        let hidden = hide(case);
        let given = Given::size_only(Mm::new(standard_length(case.eu)));
        let last = stand(&hidden.mesh, &given).unwrap().value;
        let off = (last.heel_height - case.heel).abs();
        assert!(off < 4.0, "heel {} found {:.1}", case.heel, last.heel_height);
        assert_eq!(last.foot, case.foot);
        let said = last.found.iter().find(|f| matches!(f.what, Found::HeelHeight(_))).unwrap();
        assert!(said.sureness <= 0.6, "a last alone does not show its heel height");
    }
}

/// Noise of a scanner and an open top at once, held to the same bars.
#[test]
fn a_noisy_open_scan_stands_up_too() {
    let mut wrong = Vec::new();
    for (i, case) in cases().iter().enumerate().step_by(3) {
        let mut hidden = hide(case);
        let top = hidden.built.truth.top_back.z.min(hidden.built.truth.top_front.z);
        let clean = &hidden.built.mesh.positions;
        hidden.mesh.triangles.retain(|t| !t.iter().all(|v| clean[*v as usize].z > top - 0.3));
        // Noise of standard deviation 0.05 mm along each axis, from a linear congruential
        // generator (Knuth's MMIX constants).
        let mut state = 20_000 + i as u64;
        let mut even = || {
            state = state
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1_442_695_040_888_963_407);
            (state >> 11) as f64 / (1u64 << 53) as f64 - 0.5
        };
        let mut bell = || (0..12).map(|_| even()).sum::<f64>() * 0.05 / case.unit.in_mm();
        for p in &mut hidden.mesh.positions {
            *p += DVec3::new(bell(), bell(), bell());
        }
        let mut given = Given::size_only(Mm::new(standard_length(case.eu)));
        given.heel_height = Some(Mm::new(case.heel));
        let last = stand(&hidden.mesh, &given).unwrap().value;
        wrong.extend(faults(&format!("noisy {i}"), case, &hidden, &last));
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}
