//! A built last is measured on its mesh, by means that know nothing of how it was built.

use geometry::mesh::TriMesh;
use glam::{DVec2, DVec3};
use shoe::last::build::{BuildError, BuiltLast, Foot, LastMeasures, build_last};

/// EU 36, 41 and 46 (size x 20/3 mm), low to high heels, sharp to round edges: every pair of
/// these once.
fn cases() -> Vec<LastMeasures> {
    let mut cases = Vec::new();
    for (i, size) in [36.0, 41.0, 46.0].into_iter().enumerate() {
        for (j, heel_height) in [10.0, 25.0, 60.0].into_iter().enumerate() {
            let edge_radius = [0.0, 2.0, 5.0][(i + j) % 3];
            let foot = if (i + 2 * j) % 3 == 0 { Foot::Left } else { Foot::Right };
            let size = LastMeasures::for_size(size * 20.0 / 3.0, foot);
            cases.push(LastMeasures { heel_height, edge_radius, ..size });
        }
    }
    cases
}

/// Perimeter of the hull of the section by the upright plane through `a` and `b`, by gift
/// wrapping.
fn girth(mesh: &TriMesh, a: DVec3, b: DVec3) -> f64 {
    let along = (b - a).truncate().normalize();
    let side = |p: DVec3| along.perp_dot((p - a).truncate());
    let mut section = Vec::new();
    for face in 0..mesh.triangles.len() as u32 {
        let c = mesh.corners(face);
        for k in 0..3 {
            let (p, q) = (c[k], c[(k + 1) % 3]);
            if (side(p) < 0.0) != (side(q) < 0.0) {
                let at = p + (q - p) * (side(p) / (side(p) - side(q)));
                section.push(DVec2::new(along.dot((at - a).truncate()), at.z));
            }
        }
    }
    // Each crossing is found from both triangles; near-doubles would lead the wrapping astray.
    section.sort_by(|p, q| p.x.total_cmp(&q.x).then(p.y.total_cmp(&q.y)));
    section.dedup_by(|p, q| p.distance(*q) < 1e-9);
    let lowest = (0..section.len())
        .min_by(|&i, &j| section[i].y.total_cmp(&section[j].y))
        .expect("the plane through the joints meets the last");
    let (mut at, mut length) = (lowest, 0.0);
    for _ in 0..section.len() {
        let mut next = (at + 1) % section.len();
        for k in 0..section.len() {
            let (u, v) = (section[next] - section[at], section[k] - section[at]);
            let turn = u.perp_dot(v);
            if turn < 0.0 || (turn == 0.0 && v.length() > u.length()) {
                next = k;
            }
        }
        length += section[at].distance(section[next]);
        at = next;
        if section[at].distance(section[lowest]) < 1e-9 {
            return length;
        }
    }
    panic!("the hull did not close");
}

fn width(line: &[DVec3], of: impl Fn(&DVec3) -> bool) -> f64 {
    let ys = line.iter().filter(|p| of(p)).map(|p| p.y);
    ys.clone().fold(f64::MIN, f64::max) - ys.fold(f64::MAX, f64::min)
}

#[test]
fn measures_are_met_on_the_mesh() {
    for measures in cases() {
        let BuiltLast { mesh, truth } = build_last(&measures).unwrap();
        let (low, high) = mesh.bounds().unwrap();
        let near = |name: &str, got: f64, asked: f64, by: f64| {
            assert!((got - asked).abs() < by, "{name}: {got}, asked {asked}; {measures:?}");
        };
        near("length", high.x - low.x, measures.length, 0.05);
        near("heel height", -low.z, measures.heel_height, 0.1);
        near("ground", truth.ground, low.z, 0.01);
        // The last is level by its feather line, so the flat top may lean by a fraction of a degree.
        near("top", truth.top_back.z.max(truth.top_front.z), high.z, 0.15);
        near("toe spring", truth.toe.z - low.z, measures.toe_spring, 0.1);
        let reach = truth.toe.x;
        let seat = width(&truth.feather_line, |p| p.x < 0.3 * reach);
        let tread = width(&truth.feather_line, |p| p.x > 0.5 * reach);
        near("seat width", seat, measures.seat_width, 0.1);
        near("tread width", tread, measures.tread_width, 0.1);
        let round = girth(&mesh, truth.joint_medial, truth.joint_lateral);
        near("ball girth", round, measures.ball_girth, 0.2);
    }
}

#[test]
fn stands_in_the_last_frame() {
    for measures in cases() {
        let BuiltLast { mesh, truth } = build_last(&measures).unwrap();
        assert!(truth.seat.length() < 1e-9, "{}", truth.seat);
        let rearmost = truth.feather_line.iter().map(|p| p.x).fold(f64::MAX, f64::min);
        assert!(rearmost > -0.005, "feather line behind the seat point: {rearmost}");
        // The joint of the inside lies on the inside, and further forward.
        let inside = if measures.foot == Foot::Right { 1.0 } else { -1.0 };
        assert!(truth.joint_medial.y * inside > 0.3 * measures.tread_width);
        assert!(truth.joint_lateral.y * inside < -0.3 * measures.tread_width);
        let share = |p: DVec3| p.x / measures.length;
        assert!((0.68..0.75).contains(&share(truth.joint_medial)), "{}", truth.joint_medial);
        assert!((0.58..0.66).contains(&share(truth.joint_lateral)), "{}", truth.joint_lateral);
        let lowest = mesh.positions.iter().min_by(|a, b| a.z.total_cmp(&b.z)).unwrap();
        assert!((0.58..0.75).contains(&share(*lowest)), "{lowest}");
        // The line starts at the seat and sets out along the inside.
        assert!(truth.feather_line[0].length() < 1e-9);
        assert!(truth.feather_line[10].y * inside > 3.0, "{}", truth.feather_line[10]);
        // The axis runs through the middle between the joints, under which the tread is lowest.
        let middle = (truth.joint_medial + truth.joint_lateral) / 2.0;
        assert!(middle.y.abs() < 0.02, "{middle}");
        assert!((lowest.x - middle.x).abs() < 3.0, "{lowest}, {middle}");
        // The back bulges behind the seat 15 to 35 mm up and comes forward again above.
        let bulge = truth.back_line.iter().min_by(|a, b| a.x.total_cmp(&b.x)).unwrap();
        assert!((-9.0..-4.0).contains(&bulge.x) && (15.0..35.0).contains(&bulge.z), "{bulge}");
        let top = truth.back_line.last().unwrap();
        assert!(top.x - bulge.x > 6.0, "{top}");
    }
}

#[test]
fn left_is_the_exact_mirror_of_right() {
    for edge_radius in [0.0, 3.0] {
        let asked = |foot| LastMeasures { edge_radius, ..LastMeasures::for_size(270.0, foot) };
        let right = build_last(&asked(Foot::Right)).unwrap();
        let left = build_last(&asked(Foot::Left)).unwrap();
        let flip = |p: &DVec3| DVec3::new(p.x, -p.y, p.z);
        assert_eq!(left.mesh.positions, right.mesh.positions.iter().map(flip).collect::<Vec<_>>());
        let turned: Vec<_> = right.mesh.triangles.iter().map(|&[a, b, c]| [a, c, b]).collect();
        assert_eq!(left.mesh.triangles, turned);
        assert_eq!(left.truth.joint_medial, flip(&right.truth.joint_medial));
    }
}

#[test]
fn the_same_measures_give_the_same_bits() {
    let asked = LastMeasures { edge_radius: 2.0, ..LastMeasures::for_size(255.0, Foot::Right) };
    assert_eq!(build_last(&asked).unwrap().mesh, build_last(&asked).unwrap().mesh);
}

/// Adult sizes 1 to 5 of Golding's male scale (1902): length of the last, tread and seat, mm.
#[test]
fn widths_follow_the_scale_of_1902() {
    for (length, tread, seat) in [
        (220.13, 69.85, 50.8),
        (228.6, 71.97, 52.39),
        (237.07, 74.08, 53.97),
        (245.53, 76.2, 55.56),
        (254.0, 78.32, 57.15),
    ] {
        let m = LastMeasures::for_size(length, Foot::Right);
        assert!((m.tread_width - tread).abs() < 0.02, "{length}: {} {tread}", m.tread_width);
        assert!((m.seat_width - seat).abs() < 0.02, "{length}: {} {seat}", m.seat_width);
    }
}

#[test]
fn contradictions_name_both_measures_and_their_numbers() {
    let good = LastMeasures::for_size(270.0, Foot::Right);
    let girth = LastMeasures { ball_girth: 160.0, ..good };
    let text = build_last(&girth).unwrap_err().to_string();
    for part in ["ball girth", "160", "tread width", "82.32"] {
        assert!(text.contains(part), "{text}");
    }
    let seat = LastMeasures { seat_width: 100.0, ..good };
    let text = build_last(&seat).unwrap_err().to_string();
    for part in ["seat width", "100", "tread width", "82.32"] {
        assert!(text.contains(part), "{text}");
    }
    let heel = LastMeasures { heel_height: f64::NAN, ..good };
    assert!(matches!(build_last(&heel), Err(BuildError::OutOfRange { name: "heel height", .. })));
    // Within the limits of each, but no last together.
    let full = LastMeasures { ball_girth: 287.0, heel_height: 60.0, ..good };
    let error = build_last(&full).unwrap_err();
    let BuildError::NotMet { name: "ball girth", asked: 287.0, reached, .. } = error else {
        panic!("{error}");
    };
    // The nearest that is reported can be built.
    assert!(reached > 250.0 && reached < 287.0, "{reached}");
    let nearest = LastMeasures { ball_girth: reached - 0.1, ..full };
    assert!(build_last(&nearest).is_ok());
}
