//! Graded lasts, measured again by the measuring code.

use geometry::mesh::TriMesh;
use geometry::surface::Closest;
use geometry::units::{Mm, Unit};
use glam::{DMat3, DVec3};
use shoe::last::build::{LastMeasures, build_last};
use shoe::last::grade::{Base, Follow, Target};
use shoe::last::marks::Foot;
use shoe::last::measure::{Measures, measure};
use shoe::last::stand::{Given, Last, stand};
use shoe::size::Size;
use shoe::size::fitting::girth_between;

fn size(eu: u32) -> Size {
    format!("EU {eu}").parse().expect("a size")
}

fn given(eu: u32, heel: f64) -> Given {
    Given {
        unit: Some(Unit::Mm),
        foot: Some(Foot::Right),
        heel_height: Some(Mm::new(heel)),
        standard_last_length: Some(size(eu).standard_last_length()),
        ..Given::nothing()
    }
}

fn stood(mesh: &TriMesh, eu: u32, heel: f64) -> Last {
    stand(mesh, &given(eu, heel)).expect("a last").value
}

/// An invented last.
fn base(eu: u32, heel: f64, change: impl Fn(&mut LastMeasures)) -> Last {
    let mut measures = LastMeasures::for_size(size(eu).standard_last_length().get(), Foot::Right);
    measures.heel_height = heel;
    measures.edge_radius = 1.5;
    change(&mut measures);
    stood(&build_last(&measures).expect("within bounds").mesh, eu, heel)
}

fn target(from: u32, to: u32) -> Target {
    Target {
        standard_last_length: size(to).standard_last_length().get(),
        girth_gain: girth_between(size(from), size(to)).expect("one system"),
        heel_height: Follow::Kept,
        toe_spring: Follow::Kept,
        top: Follow::Graded,
    }
}

fn graded(last: &Last, target: &Target) -> Last {
    Base::new(last).expect("measurable").graded(target).expect("within reach")
}

fn measured(last: &Last) -> Measures {
    measure(last, &last.mesh, None).value
}

fn furthest(a: &TriMesh, b: &TriMesh) -> f64 {
    assert_eq!(a.triangles, b.triangles);
    a.positions.iter().zip(&b.positions).map(|(a, b)| a.distance(*b)).fold(0.0, f64::max)
}

/// The same after `a` is laid on `b`: how two files differ, wherever their frames lie.
fn furthest_fitted(a: &TriMesh, b: &TriMesh) -> f64 {
    let middle = |m: &TriMesh| m.positions.iter().sum::<DVec3>() / m.positions.len() as f64;
    let (from, to) = (middle(a), middle(b));
    // Small turns: the vector by which a, turned, is nearest to b, by least squares.
    let mut rows = DMat3::ZERO;
    let mut right = DVec3::ZERO;
    for (p, q) in a.positions.iter().zip(&b.positions) {
        let (p, q) = (*p - from, *q - to);
        rows += DMat3::from_diagonal(DVec3::splat(p.length_squared()))
            - DMat3::from_cols(p * p.x, p * p.y, p * p.z);
        right += p.cross(q - p);
    }
    let turn = rows.inverse() * right;
    let turned = DMat3::from_axis_angle(turn.normalize_or(DVec3::X), turn.length());
    let positions = a.positions.iter().map(|p| turned * (*p - from) + to).collect();
    furthest(&TriMesh { positions, triangles: a.triangles.clone() }, b)
}

/// The graded lasts of the range against the tables: length by Paris points, girths 5 mm a size.
#[test]
fn steps_are_those_of_the_tables() {
    for (heel, change) in [
        (25.0, (|_| {}) as fn(&mut LastMeasures)),
        (60.0, |m| m.edge_radius = 0.0),
        (10.0, |m| {
            m.length += 14.0;
            m.toe_extension = 14.0;
            m.toe_point = 0.8;
        }),
    ] {
        let last = base(39, heel, change);
        let before = measured(&last);
        let on = Base::new(&last).expect("measurable");
        for eu in 35..=48 {
            let after = measured(&on.graded(&target(39, eu)).expect("within reach"));
            let sizes = f64::from(eu) - 39.0;
            let gains = [
                (after.length - before.length, sizes * 20.0 / 3.0),
                (after.girths.ball.length - before.girths.ball.length, sizes * 5.0),
                (after.girths.waist.length - before.girths.waist.length, sizes * 5.0),
                (after.girths.instep.length - before.girths.instep.length, sizes * 5.0),
                (after.heel_height - before.heel_height, 0.0),
                (after.toe_spring - before.toe_spring, 0.0),
            ];
            for (gain, table) in gains {
                assert!((gain - table).abs() < 0.02, "EU {eu}, heel {heel}: {gain} {table}");
            }
        }
    }
}

#[test]
fn many_steps_are_one_and_a_step_back_returns_the_base() {
    let last = base(35, 40.0, |m| {
        m.length += 8.0;
        m.toe_extension = 8.0;
    });
    for top in [Follow::Kept, Follow::Graded] {
        let step = |from, to| Target { top, ..target(from, to) };
        let mut climbing = last.clone();
        for eu in 35..48 {
            climbing = graded(&climbing, &step(eu, eu + 1));
        }
        let at_once = graded(&last, &step(35, 48));
        let apart = furthest(&climbing.mesh, &at_once.mesh);
        assert!(apart < 0.01, "top {top:?}: {apart}");
        let back = furthest(&graded(&at_once, &step(48, 35)).mesh, &last.mesh);
        assert!(back < 0.01, "top {top:?}: {back}");
    }
}

/// Read as a new base from what an STL file holds, in its single precision: the marks are found
/// anew where the rule puts them, so that it goes back. The frame may turn by hundredths of a degree.
#[test]
fn a_graded_last_is_a_base_like_any_other() {
    for (heel, radius) in [(25.0, 1.5), (60.0, 0.0)] {
        let last = base(39, heel, |m| m.edge_radius = radius);
        for eu in [36, 42, 46] {
            let mut file = graded(&last, &target(39, eu)).mesh;
            for p in &mut file.positions {
                *p = p.as_vec3().as_dvec3();
            }
            let back = graded(&stood(&file, eu, heel), &target(eu, 39)).mesh;
            let apart = furthest_fitted(&back, &last.mesh);
            assert!(apart < 0.05, "EU {eu}, heel {heel}: {apart}");
        }
    }
}

#[test]
fn what_is_to_stay_stays_and_what_follows_grows() {
    let last = base(39, 50.0, |m| {
        m.length += 10.0;
        m.toe_extension = 10.0;
    });
    let before = measured(&last);
    let longer = 45.0 / 39.0;
    let of = |last: &Last| {
        let m = measured(last);
        let top = last.marks.top_back.at.z;
        (m.heel_height, m.toe_spring, top, m.length - last.standard_last_length)
    };
    let kept = Target { top: Follow::Kept, ..target(39, 45) };
    let (heel, spring, top, extension) = of(&last);
    let now = of(&graded(&last, &kept));
    for (now, before) in [(now.0, heel), (now.1, spring), (now.2, top), (now.3, extension)] {
        assert!((now - before).abs() < 0.02, "{now} {before}");
    }
    let all = Target {
        heel_height: Follow::Graded,
        toe_spring: Follow::Graded,
        top: Follow::Graded,
        ..kept
    };
    let now = of(&graded(&last, &all));
    let higher = (before.girths.ball.length + 30.0) / before.girths.ball.length;
    for (now, wanted) in [
        (now.0, heel * longer),
        (now.1, spring * longer),
        (now.2, top * higher),
        (now.3, extension),
    ] {
        assert!((now - wanted).abs() < 0.3, "{now} {wanted}");
    }
}

/// A fitting more on a last of the same length.
#[test]
fn a_fitting_changes_girths_and_no_length() {
    let last = base(39, 25.0, |_| {});
    let before = measured(&last);
    let wider = Target { girth_gain: 5.0, ..target(39, 39) };
    let after = measured(&graded(&last, &wider));
    assert!((after.length - before.length).abs() < 1e-6);
    assert!((after.girths.ball.length - before.girths.ball.length - 5.0).abs() < 0.01);
    assert!(after.tread_width > before.tread_width + 1.0);
}

/// Marks keep their meaning: the seat is the origin and the rearmost point of the feather line,
/// the joints are its widest places, what lay on the surface lies on it.
#[test]
fn marks_go_along() {
    let last = base(39, 25.0, |_| {});
    for eu in [35, 48] {
        let there = graded(&last, &target(39, eu));
        let marks = &there.marks;
        assert!(marks.seat.at.length() < 1e-9, "{}", marks.seat.at);
        let line = &marks.feather_line.points;
        assert!(line.iter().all(|p| p.x > -0.02));
        let width = measured(&there).tread_width;
        let between = marks.joint_medial.at.y - marks.joint_lateral.at.y;
        assert!((width - between).abs() < 0.1, "EU {eu}: {width} {between}");
        let closest = Closest::new(&there.mesh);
        let off = |p: DVec3| {
            let near = closest.to(p, 1.0).expect("near the surface");
            near.position(&there.mesh).distance(p)
        };
        for p in [marks.vamp.at, marks.waist.at, marks.instep.at, marks.top_front.at] {
            assert!(off(p) < 0.02, "EU {eu}: {p} {}", off(p));
        }
        assert!(marks.centre_back.iter().all(|p| p.y.abs() < 1e-9 && off(*p) < 0.02));
        let sll = there.standard_last_length;
        assert!((marks.breast.at - 0.25 * sll).abs() < 1e-9);
        assert!((marks.ankle_lateral_x.at - 0.22 * sll).abs() < 1e-9);
    }
}

/// A mirrored last graded is the graded last mirrored, and no triangle is turned over.
#[test]
fn the_other_foot_is_the_mirror_image() {
    let last = base(39, 25.0, |_| {});
    let left = last.mirrored();
    assert_eq!(left.foot, Foot::Left);
    assert_eq!(left.mirrored(), last);
    let step = target(39, 44);
    let (right, left) = (graded(&last, &step), graded(&left, &step));
    assert!(furthest(&right.mirrored().mesh, &left.mesh) < 1e-6);
    for f in 0..right.mesh.triangles.len() as u32 {
        let (before, after) = (last.mesh.area_vector(f), right.mesh.area_vector(f));
        assert!(before.angle_between(after) < 0.1, "triangle {f}");
    }
}

#[test]
fn what_no_last_is_is_refused() {
    let last = base(39, 25.0, |_| {});
    let on = Base::new(&last).expect("measurable");
    for girth_gain in [-150.0, 200.0] {
        let error = on.graded(&Target { girth_gain, ..target(39, 39) }).expect_err("no last");
        assert!(error.to_string().contains("ball girth"), "{error}");
        assert!(error.to_string().contains("choose a size or a fitting nearer"), "{error}");
    }
}
