//! What the user gives wins; what is found lies on the surface; what is no last is refused.

mod lasts;

use std::sync::OnceLock;

use geometry::mesh::TriMesh;
use geometry::units::{Mm, Unit};
use geometry::warned::Warned;
use glam::{DAffine3, DMat3, DVec3};
use lasts::{Case, Hidden, hide, moved, standard_length};
use shoe::last::build::{LastMeasures, build_last};
use shoe::last::feather::EdgeKind;
use shoe::last::marks::{Foot, Found, Source};
use shoe::last::stand::{Given, Last, StandError, stand};

const EU: f64 = 40.0;
const HEEL: f64 = 30.0;

/// One right last for all tests, with a rounded edge, in centimetres, lying anyhow.
fn hidden() -> &'static Hidden {
    static HIDDEN: OnceLock<Hidden> = OnceLock::new();
    HIDDEN.get_or_init(|| {
        hide(&Case {
            eu: EU,
            foot: Foot::Right,
            heel: HEEL,
            radius: 3.0,
            unit: Unit::Cm,
            turn: (DVec3::new(0.4, 0.8, -0.3).normalize(), 2.2),
        })
    })
}

fn given() -> Given {
    Given { heel_height: Some(Mm::new(HEEL)), ..Given::size_only(Mm::new(standard_length(EU))) }
}

fn stood(given: &Given) -> Warned<Last> {
    stand(&hidden().mesh, given).expect("a built last stands")
}

/// A mark placed at `at` of the true frame, in the file's coordinates.
fn in_file(at: DVec3) -> DVec3 {
    hidden().file_from_truth.transform_point3(at)
}

/// Distance from a point to a triangle (Ericson, Real-Time Collision Detection, 2005, 5.1.5).
fn away_from_triangle(p: DVec3, [a, b, c]: [DVec3; 3]) -> f64 {
    let (ab, ac) = (b - a, c - a);
    let inner = |q: DVec3| (ab.dot(p - q), ac.dot(p - q));
    let ((d1, d2), (d3, d4), (d5, d6)) = (inner(a), inner(b), inner(c));
    let (va, vb, vc) = (d3 * d6 - d5 * d4, d5 * d2 - d1 * d6, d1 * d4 - d3 * d2);
    let nearest = if d1 <= 0.0 && d2 <= 0.0 {
        a
    } else if d3 >= 0.0 && d4 <= d3 {
        b
    } else if d6 >= 0.0 && d5 <= d6 {
        c
    } else if vc <= 0.0 && d1 >= 0.0 && d3 <= 0.0 {
        a + ab * (d1 / (d1 - d3))
    } else if vb <= 0.0 && d2 >= 0.0 && d6 <= 0.0 {
        a + ac * (d2 / (d2 - d6))
    } else if va <= 0.0 && d4 - d3 >= 0.0 && d5 - d6 >= 0.0 {
        b + (c - b) * ((d4 - d3) / ((d4 - d3) + (d5 - d6)))
    } else {
        a + (ab * vb + ac * vc) / (va + vb + vc)
    };
    p.distance(nearest)
}

#[test]
fn what_is_found_lies_on_the_surface_and_starts_at_the_seat() {
    let last = stood(&given()).value;
    let away = |p: DVec3| {
        (0..last.mesh.triangles.len() as u32)
            .map(|f| away_from_triangle(p, last.mesh.corners(f)))
            .fold(f64::INFINITY, f64::min)
    };
    let line = &last.marks.feather_line.points;
    for p in line.iter().chain(&last.marks.centre_back) {
        assert!(away(*p) < 1e-9, "{p} is {} mm off the surface", away(*p));
    }
    assert!(line[0].length() < 1e-9, "the seat is the origin and the first point");
    assert!(line[20].y > 5.0, "a right foot's line goes round the inside, +y, first");
    let n = line.len();
    for i in 0..n {
        let step = line[i].distance(line[(i + 1) % n]);
        assert!((0.3..1.8).contains(&step), "points {i} and the next are {step} mm apart");
    }
    assert!(line.iter().any(|p| p.distance(last.marks.toe.at) < 1e-9), "the toe is on the line");
    for joint in [last.marks.joint_medial, last.marks.joint_lateral] {
        // Between two points of the line, and on the surface.
        assert!(lasts::away_from_closed_line(joint.at, line) < 0.02, "{joint:?} is on the line");
        assert!(away(joint.at) < 1e-9, "{joint:?} is {} mm off the surface", away(joint.at));
    }
    assert!((last.ground + HEEL).abs() < 1e-6 && (last.heel_height - HEEL).abs() < 1e-6);
    let lowest = last.mesh.positions.iter().map(|p| p.z).fold(f64::INFINITY, f64::min);
    assert!((lowest - last.ground).abs() < 1e-6, "the tread touches the ground");
    let top = last.marks.centre_back_top.at;
    assert!((top.z - hidden().built.truth.top_back.z).abs() < 1.0, "{top}");
}

#[test]
fn the_same_input_gives_the_same_output() {
    assert_eq!(stood(&given()), stood(&given()));
}

#[test]
fn moving_the_seat_or_the_heel_height_moves_no_other_mark_of_the_user() {
    let truth = &hidden().built.truth;
    let mut first = given();
    first.marks.joint_medial = Some(in_file(truth.joint_medial + DVec3::X * 4.0));
    first.marks.ankle_lateral = Some(in_file(DVec3::new(52.0, -30.0, 44.0)));
    first.marks.centre_back_top = Some(in_file(truth.back_line[truth.back_line.len() / 2]));
    let mut second = first.clone();
    second.marks.seat = Some(in_file(DVec3::new(1.0, 2.5, 0.3)));
    second.heel_height = Some(Mm::new(HEEL + 8.0));
    let (a, b) = (stood(&first).value, stood(&second).value);
    for last in [&a, &b] {
        let there = |p: Option<DVec3>| last.last_from_file.transform_point3(p.unwrap());
        assert_eq!(last.marks.joint_medial.source, Source::User);
        assert_eq!(last.marks.joint_lateral.source, Source::Found);
        assert!(last.marks.joint_medial.at.distance(there(first.marks.joint_medial)) < 1e-9);
        let ankle = last.marks.ankle_lateral.unwrap();
        assert!(ankle.distance(there(first.marks.ankle_lateral)) < 1e-9);
        assert_eq!(last.marks.ankle_lateral_x.at, ankle.x);
        assert_eq!(last.marks.ankle_lateral_x.source, Source::User);
        assert_eq!(last.marks.ankle_medial_x.source, Source::Found);
        assert!((last.marks.ankle_medial_x.at - 0.28 * standard_length(EU)).abs() < 1e-12);
        let top = last.marks.centre_back_top;
        assert_eq!(top.source, Source::User);
        assert!(top.at.distance(there(first.marks.centre_back_top)) < 1e-9);
    }
    assert_eq!(b.marks.seat.source, Source::User);
    let seat = b.last_from_file.transform_point3(second.marks.seat.unwrap());
    assert!(seat.length() < 1e-9 && b.marks.seat.at.length() < 1e-9, "the seat is the origin");
    assert!((b.heel_height - HEEL - 8.0).abs() < 1e-6);
    assert!((a.heel_height - HEEL).abs() < 1e-6);
}

#[test]
fn a_given_feather_line_is_kept_point_for_point() {
    let mut with_line = given();
    // Given the wrong way round and from anywhere: kept, but told from the seat, inside first.
    let mut line: Vec<DVec3> =
        hidden().built.truth.feather_line.iter().step_by(4).map(|p| in_file(*p)).collect();
    line.reverse();
    line.rotate_left(50);
    with_line.marks.feather_line = Some(line.clone());
    let last = stood(&with_line).value;
    let told = &last.marks.feather_line;
    assert_eq!(told.source, Source::User);
    assert_eq!(told.points.len(), line.len());
    for p in &line {
        let there = last.last_from_file.transform_point3(*p);
        assert!(told.points.iter().any(|q| q.distance(there) < 1e-9));
    }
    assert!(told.points[0].length() < 2.0 && told.points[10].y > 5.0);
    assert!(!last.found.iter().any(|f| f.what == Found::FeatherLine), "nothing was guessed");
}

#[test]
fn the_pose_of_a_standing_last_stands_it_the_same() {
    let free = stood(&given()).value;
    let mut again = given();
    again.heel_height = None;
    again.last_from_file = Some(free.last_from_file);
    let fixed = stood(&again).value;
    let turned = fixed.last_from_file.matrix3 * free.last_from_file.matrix3.inverse();
    assert!((turned - DMat3::IDENTITY).to_cols_array().iter().all(|v| v.abs() < 1e-9));
    assert!((fixed.heel_height - HEEL).abs() < 0.1, "{}", fixed.heel_height);
    assert_eq!(fixed.unit, Unit::Cm);
}

#[test]
fn a_foot_given_against_the_surface_is_kept_and_warned_about() {
    let mut wrong = given();
    wrong.foot = Some(Foot::Left);
    let Warned { value, warnings } = stood(&wrong);
    assert_eq!((value.foot, value.foot_source), (Foot::Left, Source::User));
    assert!(value.marks.joint_medial.at.y < 0.0, "a left foot's inside is -y");
    assert!(warnings.iter().any(|w| w.place == "foot" && w.hint.contains("mirrored")));
}

#[test]
fn joints_placed_by_the_user_tell_the_foot() {
    let truth = &hidden().built.truth;
    let mut swapped = given();
    swapped.marks.joint_medial = Some(in_file(truth.joint_lateral));
    swapped.marks.joint_lateral = Some(in_file(truth.joint_medial));
    assert_eq!(stood(&swapped).value.foot, Foot::Left);
    let mut same = given();
    same.marks.joint_medial = Some(in_file(truth.joint_medial));
    same.marks.joint_lateral = Some(in_file(truth.joint_medial + DVec3::X));
    let e = stand(&hidden().mesh, &same).unwrap_err();
    assert!(matches!(e, StandError::BadGiven { what: "joints", .. }), "{e}");
}

#[test]
fn an_open_top_stands_as_a_closed_one() {
    let mut measures = LastMeasures::for_size(standard_length(EU), Foot::Right);
    measures.heel_height = HEEL;
    measures.edge_radius = 3.0;
    // Facets no more than 0.1 mm inside the rounding: the line is not finer than they are.
    measures.resolution = 1.5;
    let built = build_last(&measures).expect("these measures are within bounds");
    let whole = stand(&built.mesh, &given()).expect("a built last stands").value;
    let mut mesh = built.mesh.clone();
    let top = built.truth.top_back.z;
    mesh.triangles.retain(|t| !t.iter().all(|v| built.mesh.positions[*v as usize].z > top - 0.3));
    assert!(mesh.triangles.len() < built.mesh.triangles.len());
    let open = stand(&mesh, &given()).unwrap().value;
    assert!(open.marks.centre_back_top.at.z - whole.marks.centre_back_top.at.z < 1.0);
    let line = &whole.marks.feather_line.points;
    for p in &open.marks.feather_line.points {
        let away = lasts::away_from_closed_line(*p, line);
        assert!(away < 0.08, "{p} is {away} off");
    }
}

/// A body without an edge: the last worn down until every edge is rounder than 15 mm.
fn worn(mesh: &TriMesh) -> TriMesh {
    let mut positions = mesh.positions.clone();
    for _ in 0..400 {
        let mut sum = vec![(DVec3::ZERO, 0.0); positions.len()];
        for t in &mesh.triangles {
            for k in 0..3 {
                let (a, b) = (t[k] as usize, t[(k + 1) % 3] as usize);
                sum[a].0 += positions[b];
                sum[a].1 += 1.0;
            }
        }
        for (p, (s, n)) in positions.iter_mut().zip(sum) {
            *p = p.lerp(s / n, 0.7);
        }
    }
    TriMesh { positions, triangles: mesh.triangles.clone() }
}

#[test]
fn without_an_edge_the_line_is_where_the_surface_turns_outward_and_a_warning_says_so() {
    let mesh = worn(&hidden().mesh);
    let Warned { value, warnings } = stand(&mesh, &given()).unwrap();
    assert_eq!(value.foot, Foot::Right);
    assert_eq!(value.marks.feather_line.edge, EdgeKind::Absent);
    assert!(warnings.iter().any(|w| w.place == "feather line"), "{warnings:?}");
    assert!(value.marks.feather_line.sureness <= 0.5);
}

/// A box of `size` cut into `n` parts along each side, tapering in height to `taper` of it at
/// +x; outward.
fn cuboid(size: DVec3, n: usize, taper: f64) -> TriMesh {
    let mut corners: std::collections::BTreeMap<[usize; 3], u32> = Default::default();
    let mut mesh = TriMesh::default();
    for axis in 0..3 {
        for end in [0, n] {
            for i in 0..n {
                for j in 0..n {
                    let quad = [(i, j), (i + 1, j), (i + 1, j + 1), (i, j + 1)].map(|(i, j)| {
                        let mut at = [0; 3];
                        at[axis] = end;
                        at[(axis + 1) % 3] = i;
                        at[(axis + 2) % 3] = j;
                        let next = mesh.positions.len() as u32;
                        *corners.entry(at).or_insert_with(|| {
                            let t = at.map(|c| c as f64 / n as f64);
                            let height = 1.0 - (1.0 - taper) * t[0];
                            mesh.positions.push(DVec3::new(t[0], t[1], t[2] * height) * size);
                            next
                        })
                    });
                    let [a, b, c, d] = quad;
                    let (first, second) = ([a, b, c], [a, c, d]);
                    let turned = |t: [u32; 3]| if end == 0 { [t[0], t[2], t[1]] } else { t };
                    mesh.triangles.extend([turned(first), turned(second)]);
                }
            }
        }
    }
    mesh
}

#[test]
fn what_is_no_last_is_refused_by_name_with_its_measures() {
    let size_only = Given::size_only(Mm::new(standard_length(EU)));
    let in_mm = Given { unit: Some(Unit::Mm), ..size_only.clone() };
    let refused = |mesh: &TriMesh, given: &Given| stand(mesh, given).unwrap_err();

    let plate = refused(&cuboid(DVec3::new(250.0, 90.0, 3.0), 8, 1.0), &size_only);
    assert!(matches!(&plate, StandError::NotLastShaped { sign, .. } if sign.contains("plate")));
    assert!(plate.to_string().contains("250 x 90 x 3 mm"), "{plate}");
    let cube = refused(&cuboid(DVec3::splat(200.0), 8, 1.0), &size_only);
    assert!(matches!(cube, StandError::NotLastShaped { .. }), "{cube}");
    let brick = refused(&cuboid(DVec3::new(250.0, 100.0, 70.0), 8, 1.0), &size_only);
    assert!(brick.to_string().contains("two ends are alike"), "{brick}");
    let wedge = refused(&cuboid(DVec3::new(250.0, 100.0, 70.0), 8, 0.3), &size_only);
    assert!(wedge.to_string().contains("bottom"), "{wedge}");

    let ten_metres = cuboid(DVec3::new(10_000.0, 4000.0, 3000.0), 4, 0.5);
    assert!(matches!(refused(&ten_metres, &in_mm), StandError::TooLarge { .. }));
    assert!(matches!(refused(&ten_metres, &size_only), StandError::NoUnit { .. }));
    let small = refused(&cuboid(DVec3::new(25.0, 10.0, 7.0), 4, 0.5), &in_mm);
    assert!(small.to_string().contains("unit were cm"), "{small}");

    assert_eq!(refused(&TriMesh::default(), &size_only), StandError::Empty);
    let mut inside_out = hidden().mesh.clone();
    for t in &mut inside_out.triangles {
        t.swap(0, 1);
    }
    assert!(matches!(refused(&inside_out, &size_only), StandError::InsideOut { .. }));
    let mut doubled = hidden().mesh.clone();
    doubled.triangles.push(doubled.triangles[0]);
    assert!(matches!(refused(&doubled, &size_only), StandError::Untidy(_)));
}

#[test]
fn given_values_that_make_no_sense_are_refused_by_name() {
    let refused = |change: &dyn Fn(&mut Given)| {
        let mut given = given();
        change(&mut given);
        match stand(&hidden().mesh, &given) {
            Err(StandError::BadGiven { what, .. }) => what,
            other => panic!("{other:?}"),
        }
    };
    assert_eq!(refused(&|g| g.heel_height = Some(Mm::new(f64::NAN))), "heel height");
    assert_eq!(refused(&|g| g.standard_last_length = Some(Mm::new(0.0))), "standard last length");
    assert_eq!(refused(&|g| g.marks.seat = Some(DVec3::NAN)), "seat");
    assert_eq!(refused(&|g| g.marks.feather_line = Some(vec![DVec3::ZERO; 3])), "feather line");
    let skewed = DMat3::from_diagonal(DVec3::new(10.0, 10.0, 11.0));
    let mirrored = DMat3::from_diagonal(DVec3::new(10.0, 10.0, -10.0));
    for pose in [skewed, mirrored, DMat3::ZERO, DMat3::IDENTITY * f64::NAN] {
        assert_eq!(refused(&|g| g.last_from_file = Some(DAffine3::from_mat3(pose))), "pose");
    }
}

#[test]
fn a_file_in_another_unit_is_the_same_last() {
    let in_mm = moved(&hidden().mesh, &DAffine3::from_scale(DVec3::splat(10.0)));
    let (a, b) = (stood(&given()).value, stand(&in_mm, &given()).unwrap().value);
    assert_eq!((a.unit, b.unit), (Unit::Cm, Unit::Mm));
    for (p, q) in a.mesh.positions.iter().zip(&b.mesh.positions) {
        assert!(p.distance(*q) < 1e-3, "{p} {q}");
    }
}

#[test]
fn the_pose_of_the_file_does_not_matter() {
    let first = stood(&given()).value;
    let axes = [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0], [0.6, -0.5, 0.7]];
    for (i, axis) in axes.iter().cycle().take(24).enumerate() {
        let angle = 0.35 + 0.73 * i as f64;
        let turned = DMat3::from_axis_angle(DVec3::from(*axis).normalize(), angle);
        let mesh = moved(&hidden().mesh, &DAffine3::from_mat3(turned));
        let last = stand(&mesh, &given()).unwrap().value;
        let apart = last
            .mesh
            .positions
            .iter()
            .zip(&first.mesh.positions)
            .map(|(p, q)| p.distance(*q))
            .fold(0.0, f64::max);
        assert_eq!(last.foot, first.foot, "pose {i}");
        assert!(apart < 0.01, "pose {i}: {apart} mm apart");
    }
}

#[test]
fn a_mark_from_another_scan_is_kept_and_warned_about() {
    let mut astray = given();
    astray.marks.ankle_medial = Some(in_file(DVec3::new(60.0, 130.0, 40.0)));
    astray.marks.ankle_lateral = Some(in_file(hidden().built.truth.joint_lateral));
    let Warned { value, warnings } = stood(&astray);
    assert!(value.marks.ankle_medial.is_some());
    let places: Vec<&str> = warnings.iter().map(|w| w.place.as_str()).collect();
    assert_eq!(places, ["inside ankle"], "{warnings:?}");
}
