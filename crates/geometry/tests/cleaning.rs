//! Welding, mending and turning: the outcome is clean, and independent of order and direction.

#![allow(clippy::unwrap_used, reason = "a test may fail so")]

mod shapes;

use std::f64::consts::PI;

use geometry::mesh::TriMesh;
use geometry::mesh::adjacency::Adjacency;
use geometry::mesh::base::cut_base;
use geometry::mesh::bodies::{bodies, largest_body, split_touching};
use geometry::mesh::branches::unbranch;
use geometry::mesh::caps::mend_caps;
use geometry::mesh::orient::orient_outward;
use geometry::mesh::repair::{MOST_PLACES, RepairKind};
use geometry::mesh::tidy::{Tidied, TidyError, tidy};
use geometry::mesh::weld::{weld, weld_counted};
use glam::DVec3;
use proptest::prelude::*;
use shapes::{area, as_set, ball, cuboid, mesh, rim_edges, sheet, together};

/// Every triangle with its own three vertices, as an STL has them.
fn loose(mesh: &TriMesh) -> TriMesh {
    let positions = (0..mesh.triangles.len() as u32).flat_map(|f| mesh.corners(f)).collect();
    let triangles = (0..mesh.triangles.len() as u32).map(|f| [3 * f, 3 * f + 1, 3 * f + 2]);
    TriMesh { positions, triangles: triangles.collect() }
}

fn inverted(mesh: &TriMesh) -> TriMesh {
    let mut turned = mesh.clone();
    turned.triangles.iter_mut().for_each(|t| t.swap(0, 1));
    turned
}

/// Numbers 0 to n-1, shuffled by a seed (Fisher and Yates, on a Lehmer generator).
fn shuffled(n: usize, seed: u64) -> Vec<usize> {
    let mut state = seed | 1;
    let mut order: Vec<usize> = (0..n).collect();
    for i in (1..n).rev() {
        state = state.wrapping_mul(0xda94_2042_e4dd_58b5);
        order.swap(i, (state >> 33) as usize % (i + 1));
    }
    order
}

/// Vertices renumbered, triangles in another order, their first corner moved, some turned round.
fn disordered(mesh: &TriMesh, seed: u64, turn: bool) -> TriMesh {
    let vertices = shuffled(mesh.positions.len(), seed);
    let mut positions = mesh.positions.clone();
    for (old, new) in vertices.iter().enumerate() {
        positions[*new] = mesh.positions[old];
    }
    let triangles = shuffled(mesh.triangles.len(), seed ^ 0x5555)
        .into_iter()
        .map(|f| {
            let mut t = mesh.triangles[f].map(|v| vertices[v as usize] as u32);
            t.rotate_left(f % 3);
            if turn && (f as u64 * 7).wrapping_add(seed).is_multiple_of(3) {
                t.swap(0, 1);
            }
            t
        })
        .collect();
    TriMesh { positions, triangles }
}

fn cleaned(mesh: &TriMesh, tolerance: f64) -> Tidied {
    let tidied = tidy(mesh, tolerance).unwrap();
    Adjacency::new(&tidied.mesh).unwrap();
    let mut used = vec![false; tidied.mesh.positions.len()];
    tidied.mesh.triangles.iter().flatten().for_each(|v| used[*v as usize] = true);
    assert!(used.iter().all(|u| *u), "a vertex is unused");
    tidied
}

fn said(tidied: &Tidied, what: &str) -> bool {
    tidied.repairs.iter().any(|w| w.message.contains(what))
}

// ---- weld ----

#[test]
fn welding_joins_the_loose_triangles_of_a_ball() {
    let ball = ball(50.0, 3);
    let welded = weld_counted(&loose(&ball), 0.001);
    assert_eq!(welded.mesh.positions.len(), ball.positions.len());
    assert_eq!(welded.joined, 3 * ball.triangles.len() - ball.positions.len());
    assert_eq!((welded.degenerate, welded.doubled, welded.unused), (0, 0, 0));
    assert_eq!(as_set(&welded.mesh), as_set(&ball));
}

#[test]
fn welding_sees_across_the_borders_of_cells() {
    // Wherever the cells lie, some of these pairs lie on either side of a border.
    for axis in DVec3::AXES {
        for step in 0..1000 {
            let at = f64::from(step) * 0.0137 - 5.0;
            let pair = [at * axis, (at + 0.0999) * axis, DVec3::splat(90.0), DVec3::splat(80.0)];
            let two = TriMesh { positions: pair.to_vec(), triangles: vec![[0, 2, 3], [1, 3, 2]] };
            assert_eq!(weld_counted(&two, 0.1).joined, 1, "at {at}");
            assert_eq!(weld_counted(&two, 0.0998).joined, 0, "at {at}");
        }
    }
}

#[test]
fn a_point_joins_the_nearest_of_two_in_reach() {
    let points = [[0.0; 3], [0.1, 0.55, 0.0], [0.2, 0.4, 0.0], [9.0; 3], [8.0, 9.0, 9.0]];
    // The third is 0.447 from the first and 0.180 from the second; those are 0.559 apart.
    let other = weld(&mesh(&points, &[[0, 1, 3], [2, 3, 4]]), 0.5);
    assert_eq!(other.positions.len(), 4);
    assert!(other.corners(1).contains(&DVec3::new(0.1, 0.55, 0.0)));
}

#[test]
fn welding_drops_collapsed_doubled_and_unused() {
    let rough = mesh(
        &[[0.0; 3], [1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1e-4], [9.0; 3]],
        &[[0, 1, 2], [0, 3, 1], [2, 0, 1], [1, 0, 2], [3, 1, 2]],
    );
    let welded = weld_counted(&rough, 1e-3);
    assert_eq!(welded.mesh.triangles, [[0, 1, 2]]);
    assert_eq!((welded.joined, welded.degenerate, welded.doubled, welded.unused), (1, 1, 3, 1));
    assert_eq!(weld(&rough, 0.0).triangles.len(), 3);
    assert_eq!(weld(&rough, f64::NAN).triangles.len(), 3);
    assert_eq!(weld(&TriMesh::default(), 1.0), TriMesh::default());
}

proptest! {
    #[test]
    fn welding_is_independent_of_order(
        points in proptest::collection::vec([0..40_i32, 0..40, 0..40], 3..80),
        seed: u64,
    ) {
        // Steps of 0.3 and a tolerance of 0.5: chains, ties and neighbours in plenty.
        let positions: Vec<DVec3> =
            points.iter().map(|p| DVec3::from_array(p.map(f64::from)) * 0.3).collect();
        let n = positions.len() as u32;
        let triangles = (0..n).map(|i| [i, (i * 7 + 1) % n, (i * 13 + 2) % n]).collect();
        let rough = TriMesh { positions, triangles };
        let welded = weld(&rough, 0.5);
        for (i, p) in welded.positions.iter().enumerate() {
            for q in &welded.positions[i + 1..] {
                prop_assert!(p.distance(*q) > 0.5);
            }
        }
        let other = weld(&disordered(&rough, seed, false), 0.5);
        let sorted = |mesh: &TriMesh| {
            let mut p: Vec<[f64; 3]> = mesh.positions.iter().map(|p| p.to_array()).collect();
            p.sort_by(|a, b| a.partial_cmp(b).unwrap());
            p
        };
        prop_assert_eq!(sorted(&welded), sorted(&other));
        prop_assert_eq!(welded.triangles.len(), other.triangles.len());
        prop_assert_eq!(&weld(&welded, 0.5), &welded);
    }
}

// ---- orient ----

#[test]
fn an_inverted_ball_is_turned_outward() {
    let ball = ball(50.0, 3);
    let turned = orient_outward(&inverted(&ball));
    assert_eq!(turned.flipped, ball.triangles.len());
    assert_eq!(as_set(&turned.mesh), as_set(&ball));
    // The sides lie inside the round ball, and what is missing falls with the square of their
    // length: to a quarter for each halving.
    let exact = 4.0 / 3.0 * PI * 50_f64.powi(3);
    let missing = [3, 4]
        .map(|n| exact - orient_outward(&inverted(&shapes::ball(50.0, n))).mesh.signed_volume());
    assert!(missing[1] > 0.0 && missing[1] < 0.01 * exact, "{missing:?}");
    assert!((missing[0] / missing[1] - 4.0).abs() < 0.2, "{missing:?}");
}

#[test]
fn a_ball_far_from_the_origin_is_turned_outward() {
    let mut far = inverted(&ball(5.0, 2));
    far.positions.iter_mut().for_each(|p| *p += DVec3::new(-9e5, 8e5, 7e5));
    assert_eq!(orient_outward(&far).flipped, far.triangles.len());
}

#[test]
fn an_open_body_faces_its_outside_however_the_opening_lies() {
    // A box without one side: two thirds to five sixths of the surface are left.
    for side in 0..6 {
        let mut open = cuboid(DVec3::new(260.0, 90.0, 70.0));
        open.triangles.drain(2 * side..2 * side + 2);
        let expected = as_set(&open);
        for start in [open.clone(), inverted(&open)] {
            let turned = orient_outward(&disordered(&start, 5, true));
            assert_eq!(as_set(&turned.mesh), expected, "side {side}");
        }
    }
}

#[test]
fn a_tube_open_at_both_ends_faces_its_outside() {
    let mut tube = cuboid(DVec3::new(260.0, 90.0, 70.0));
    tube.triangles.drain(4..8);
    let turned = orient_outward(&disordered(&inverted(&tube), 9, true));
    assert_eq!(as_set(&turned.mesh), as_set(&tube));
}

/// Part of a tube, `degrees` of it, as a band round a heel is: no ends, radius 30, 40 high.
fn band(degrees: f64) -> TriMesh {
    let mut band = sheet(24, 4);
    for p in &mut band.positions {
        let angle = (p.x / 24.0 * degrees).to_radians();
        *p = DVec3::new(30.0 * angle.cos(), 30.0 * angle.sin(), 10.0 * p.y);
    }
    band
}

#[test]
fn a_band_faces_its_bulging_side() {
    for degrees in [5.0, 90.0, 180.0, 270.0] {
        let band = band(degrees);
        // Outward on a tube is away from its axis.
        assert!(band.area_vector(0).dot(DVec3::X) > 0.0);
        for start in [band.clone(), inverted(&band)] {
            let turned = orient_outward(&disordered(&start, 3, true));
            assert_eq!(turned.flat, 0);
            assert_eq!(as_set(&turned.mesh), as_set(&band), "{degrees} degrees");
        }
    }
}

/// Seen from among the many points at its tip, the wall of a funnel encloses next to nothing:
/// nearly all of its volume belongs to the cone over the wide rim.
#[test]
fn a_funnel_faces_its_outside_by_its_closed_rim() {
    let mut funnel = sheet(24, 12);
    for p in &mut funnel.positions {
        let (angle, along) = ((15.0 * p.x).to_radians(), (p.y / 12.0).powi(6) + 0.001);
        *p = DVec3::new(angle.cos(), angle.sin(), 1.0) * 50.0 * along;
    }
    let funnel = weld(&funnel, 1e-9);
    // Outward on the side at y = 0, x > 0 is down and away from the axis.
    let outward = orient_outward(&inverted(&funnel)).mesh;
    assert!(
        outward.area_vector(outward.triangles.len() as u32 - 1).dot(DVec3::new(1.0, 0.0, -1.0))
            > 0.0
    );
    assert_eq!(as_set(&orient_outward(&funnel).mesh), as_set(&outward));
}

#[test]
fn a_flat_sheet_keeps_the_direction_of_most_of_it() {
    let mut flat = sheet(5, 4);
    for t in flat.triangles.iter_mut().take(7) {
        t.swap(1, 2);
    }
    let turned = orient_outward(&flat);
    assert_eq!((turned.flipped, turned.flat), (7, 1));
    assert_eq!(as_set(&turned.mesh), as_set(&sheet(5, 4)));
}

/// A band of 12 squares around a ring, closed with a half turn.
fn twisted_band() -> TriMesh {
    let n = 12;
    let positions = (0..n)
        .flat_map(|i| {
            let angle = f64::from(i) / f64::from(n) * 2.0 * PI;
            let out = DVec3::new(angle.cos(), angle.sin(), 0.0);
            let across = out * (angle / 2.0).cos() + DVec3::Z * (angle / 2.0).sin();
            [30.0 * out - 5.0 * across, 30.0 * out + 5.0 * across]
        })
        .collect();
    let triangles = (0..n as u32)
        .flat_map(|i| {
            let last = i + 1 == n as u32;
            let (a, b) = (2 * i, 2 * i + 1);
            let (c, d) = if last { (1, 0) } else { (2 * i + 2, 2 * i + 3) };
            [[a, c, b], [b, c, d]]
        })
        .collect();
    TriMesh { positions, triangles }
}

#[test]
fn a_twisted_band_is_cut_where_it_contradicts_itself() {
    assert_eq!(orient_outward(&twisted_band()).twisted.len(), 1);
    let tidied = cleaned(&twisted_band(), 0.0);
    assert_eq!(tidied.mesh.triangles.len(), 23);
    assert!(said(&tidied, "twisted so that it has no outside: 1"));
}

proptest! {
    #[test]
    fn turning_is_independent_of_order(seed: u64) {
        let two = together(&ball(20.0, 1), &cuboid(DVec3::new(5.0, 6.0, 7.0)), DVec3::X * 50.0);
        let turned = orient_outward(&disordered(&two, seed, true));
        prop_assert_eq!(as_set(&turned.mesh), as_set(&two));
        prop_assert!(turned.twisted.is_empty());
    }
}

// ---- bodies ----

#[test]
fn bodies_come_largest_first_and_touching_points_do_not_join_them() {
    let small = cuboid(DVec3::ONE);
    let large = cuboid(DVec3::splat(2.0));
    let touching = weld(&together(&small, &large, DVec3::ONE), 0.0);
    assert_eq!(touching.positions.len(), 15);
    let found = bodies(&touching);
    assert_eq!(found.iter().map(Vec::len).collect::<Vec<_>>(), [12, 12]);
    assert_eq!(area(&largest_body(&touching)), 24.0);
    let (split, added) = split_touching(&touching);
    assert_eq!((split.positions.len(), added), (16, 1));
    assert_eq!(largest_body(&TriMesh::default()), TriMesh::default());
}

// ---- edges with more than two triangles ----

#[test]
fn a_fin_on_a_ball_is_dropped() {
    let mut finned = ball(50.0, 2);
    let [a, b, _] = finned.triangles[0];
    finned.positions.push(DVec3::new(90.0, 10.0, 20.0));
    let tip = finned.positions.len() as u32 - 1;
    finned.triangles.insert(0, [a, b, tip]);
    assert!(Adjacency::new(&finned).is_err());
    let tidied = cleaned(&finned, 0.001);
    assert!(said(&tidied, "edges with more than two triangles: 1; triangles of fins removed: 1"));
    assert_eq!(as_set(&tidied.mesh), as_set(&ball(50.0, 2)));
}

#[test]
fn a_wall_through_a_box_is_dropped() {
    // Two boxes that share a side of 1 by 1, which is there once.
    let long = together(
        &cuboid(DVec3::new(9.0, 1.0, 1.0)),
        &cuboid(DVec3::new(8.0, 1.0, 1.0)),
        DVec3::X * 9.0,
    );
    let walled = weld(&long, 0.0);
    assert_eq!(walled.triangles.len(), 22);
    let tidied = cleaned(&walled, 0.0);
    assert_eq!(rim_edges(&tidied.mesh), 0);
    assert_eq!(tidied.mesh.signed_volume(), 17.0);
}

#[test]
fn of_two_small_patches_on_one_rim_only_the_smaller_is_dropped() {
    // A tent over one triangle of a box: the triangle below it goes, the tent stays.
    let mut tented = cuboid(DVec3::splat(10.0));
    let [a, b, c] = tented.triangles[2];
    tented.positions.push(DVec3::new(6.0, 4.0, 11.0));
    tented.triangles.extend([[a, b, 8], [b, c, 8], [c, a, 8]]);
    let tidied = cleaned(&tented, 0.0);
    assert_eq!((tidied.mesh.triangles.len(), rim_edges(&tidied.mesh)), (14, 0));
    // A third of base area 50 times height 1.
    assert!((tidied.mesh.signed_volume() - 1000.0 - 50.0 / 3.0).abs() < 1e-9);
}

#[test]
fn boxes_that_share_an_edge_are_parted_not_lost() {
    let two = together(&cuboid(DVec3::ONE), &cuboid(DVec3::ONE), DVec3::new(1.0, 1.0, 0.0));
    let mended = unbranch(&weld(&two, 0.0));
    assert_eq!((mended.branching, mended.dropped, mended.parted), (1, 0, 2));
    Adjacency::new(&mended.mesh).unwrap();
    assert_eq!(bodies(&mended.mesh).len(), 2);
    assert_eq!(rim_edges(&mended.mesh), 0);
}

proptest! {
    #[test]
    fn parting_leaves_no_edge_with_more_than_two_triangles(
        triangles in proptest::collection::vec([0..7_u32, 0..7, 0..7], 1..60),
    ) {
        let positions = (0..7).map(|i| DVec3::new(f64::from(i), f64::from(i * i % 7), 0.0));
        let tangle = weld(&TriMesh { positions: positions.collect(), triangles }, 0.0);
        let (parted, _) = split_touching(&tangle);
        let mut sides: Vec<[u32; 2]> = parted
            .triangles
            .iter()
            .flat_map(|t| [0, 1, 2].map(|k| (t[k], t[(k + 1) % 3])))
            .map(|(a, b)| [a.min(b), a.max(b)])
            .collect();
        sides.sort_unstable();
        prop_assert!(sides.windows(3).all(|w| w[0] != w[2]));
        prop_assert_eq!(parted.triangles.len(), tangle.triangles.len());
    }

    #[test]
    fn any_triangles_are_made_clean_or_refused(
        triangles in proptest::collection::vec([0..9_u32, 0..9, 0..9], 1..40),
        tolerance in 0.0..0.8_f64,
    ) {
        let positions = (0..9).map(|i| DVec3::new(f64::from(i % 3), f64::from(i / 3), f64::from(i * i % 5)));
        let rough = TriMesh { positions: positions.collect(), triangles };
        match tidy(&rough, tolerance) {
            Ok(_) => {
                let once = cleaned(&rough, tolerance).mesh;
                prop_assert!(orient_outward(&once).twisted.is_empty());
                prop_assert_eq!(bodies(&once).len(), 1);
            }
            Err(
                TidyError::SeveralBodies { .. }
                | TidyError::NothingLeft { .. }
                | TidyError::NoArea,
            ) => {}
            Err(error) => prop_assert!(false, "{}", error),
        }
    }

    #[test]
    fn tidying_is_independent_of_order(seed: u64) {
        let crumb = cuboid(DVec3::ONE);
        let rough = loose(&together(&ball(20.0, 1), &crumb, DVec3::X * 50.0));
        let tidied = cleaned(&disordered(&rough, seed, true), 0.01);
        prop_assert_eq!(as_set(&tidied.mesh), as_set(&ball(20.0, 1)));
    }
}

// ---- triangles without height ----

#[test]
fn a_triangle_without_height_is_merged_into_its_neighbour() {
    // A box with one edge broken by a point that only one of its two sides knows: the crack is
    // filled by a triangle without height, as programs do to close such a side.
    let mut cracked = cuboid(DVec3::splat(10.0));
    let broken = cracked.triangles.iter().position(|t| *t == [0, 2, 3]).unwrap();
    cracked.positions.push(DVec3::new(0.0, 4.0, 0.0));
    cracked.triangles[broken] = [0, 8, 3];
    cracked.triangles.push([8, 2, 3]);
    cracked.triangles.push([0, 2, 8]);
    let tidied = cleaned(&cracked, 0.001);
    assert!(said(&tidied, "triangles without height mended: 1"), "{:?}", tidied.repairs);
    assert_eq!(tidied.mesh.triangles.len(), 14);
    assert!(tidied.mesh.face_areas().iter().all(|a| *a > 1.0));
    assert_eq!(rim_edges(&tidied.mesh), 0);
    assert!((tidied.mesh.signed_volume() - 1000.0).abs() < 1e-9);
}

#[test]
fn stacked_triangles_without_height_are_mended_from_outside_in() {
    // Five points on one side of a square, known to the other side of the edge only.
    let mut line = sheet(1, 1);
    line.triangles = vec![[0, 1, 3], [0, 3, 2]];
    for i in 1..=5 {
        line.positions.push(DVec3::new(f64::from(i) / 6.0, f64::from(i) / 6.0, 0.0));
    }
    // The diagonal 0-3 is broken for the upper triangle by 4..8; flat triangles fill the gap.
    line.triangles = vec![[0, 1, 3], [0, 3, 8], [0, 8, 7], [0, 7, 6], [0, 6, 5], [0, 5, 4]];
    for (a, b) in [(0, 4), (4, 5), (5, 6), (6, 7), (7, 8), (8, 3)] {
        line.triangles.push([a, b, 2]);
    }
    let tidied = cleaned(&line, 0.001);
    assert!(said(&tidied, "triangles without height mended: 5"), "{:?}", tidied.repairs);
    assert!((area(&tidied.mesh) - 1.0).abs() < 1e-12);
    assert!(tidied.mesh.face_areas().iter().all(|a| *a > 0.01));
    assert_eq!(rim_edges(&tidied.mesh), 4);
}

#[test]
fn a_flip_that_would_double_an_edge_is_left_undone() {
    // A tetrahedron pressed flat: the other ends of the flip are joined already.
    let points = [[0.0; 3], [1.0, 0.0, 0.0], [2.0, 0.0, 0.0], [1.0, 1.0, 0.0]];
    let pressed = mesh(&points, &[[0, 1, 2], [0, 2, 3], [0, 3, 1], [1, 3, 2]]);
    let mended = mend_caps(&pressed);
    assert_eq!((mended.flipped, mended.dropped, mended.left), (0, 0, 1));
    assert_eq!(mended.mesh, pressed);
    assert!(said(&cleaned(&pressed, 0.0), "triangles without height left as they are: 1"));
}

#[test]
fn what_hung_together_by_a_triangle_without_height_is_parted() {
    let points = [[0.0; 3], [1.0, 0.0, 0.0], [2.0, 0.0, 0.0], [0.0, -2.0, 0.0], [2.0, -1.0, 0.0]];
    let hanging = mesh(&points, &[[0, 1, 2], [1, 0, 3], [2, 1, 4]]);
    let tidied = cleaned(&hanging, 0.0);
    assert_eq!((tidied.mesh.triangles.len(), tidied.mesh.positions.len()), (1, 3));
    assert_eq!(area(&tidied.mesh), 1.0);
}

#[test]
fn triangles_on_one_line_have_no_area() {
    let line = mesh(&[[0.0; 3], [1.0, 0.0, 0.0], [3.0, 0.0, 0.0]], &[[0, 1, 2]]);
    assert_eq!(tidy(&line, 0.0), Err(TidyError::NoArea));
}

// ---- tidy ----

#[test]
fn tidying_says_what_it_did() {
    let crumb = cuboid(DVec3::ONE);
    let mut rough = inverted(&loose(&together(&ball(20.0, 1), &crumb, DVec3::X * 50.0)));
    rough.triangles.push(rough.triangles[0]);
    rough.triangles.push([0, 0, 1]);
    rough.positions.push(DVec3::ZERO);
    let tidied = cleaned(&rough, 0.01);
    let triangles = tidied.mesh.triangles.len();
    for words in [
        &format!(
            "points welded to a neighbour: {}",
            3 * (triangles + 12) - tidied.mesh.positions.len() - 8
        ),
        "triangles without area removed: 1",
        "doubled triangles removed: 1",
        "points without a triangle removed: 1",
        "small bodies removed: 1",
        &format!("triangles flipped to face outward: {triangles}"),
    ] {
        assert!(said(&tidied, words), "\"{words}\" is missing in {:?}", tidied.repairs);
    }
    assert!(tidy(&tidied.mesh, 0.01).unwrap().repairs.is_empty());
}

#[test]
fn two_lasts_in_one_file_are_refused() {
    let left = cuboid(DVec3::new(260.0, 90.0, 100.0));
    let pair = together(&left, &left, DVec3::Y * 150.0);
    let error = tidy(&pair, 0.01).unwrap_err();
    assert!(matches!(error, TidyError::SeveralBodies { count: 2, .. }));
    let message = error.to_string();
    assert!(message.contains("two lasts in one file: keep one"), "{message}");
    assert!(message.contains("100 % of the surface"), "{message}");
    assert!(message.contains("at (130.0, 45.0, 50.0) and (130.0, 195.0, 50.0)"), "{message}");
}

#[test]
fn the_bound_between_a_crumb_and_a_second_last_is_a_fifth_of_the_surface() {
    let whole = cuboid(DVec3::splat(10.0));
    let beside = |side: f64| together(&whole, &cuboid(DVec3::splat(side)), DVec3::X * 20.0);
    // (side / 10)^2 is 0.19 and 0.21.
    assert!(said(&cleaned(&beside(0.19_f64.sqrt() * 10.0), 0.0), "small bodies removed: 1"));
    assert!(tidy(&beside(0.21_f64.sqrt() * 10.0), 0.0).is_err());
}

#[test]
fn the_inner_wall_of_a_hollow_model_is_removed() {
    let hollow = together(&ball(50.0, 3), &inverted(&ball(46.0, 3)), DVec3::ZERO);
    let tidied = cleaned(&hollow, 0.01);
    assert!(said(&tidied, "bodies inside the largest removed: 1"));
    assert_eq!(as_set(&tidied.mesh), as_set(&ball(50.0, 3)));
}

#[test]
fn a_body_in_the_corner_of_another_is_no_inner_wall() {
    let outline =
        [[0.0, 0.0], [100.0, 0.0], [100.0, 20.0], [20.0, 20.0], [20.0, 100.0], [0.0, 100.0]];
    let positions: Vec<[f64; 3]> =
        [0.0, 100.0].iter().flat_map(|z| outline.map(|[x, y]| [x, y, *z])).collect();
    let mut triangles = Vec::new();
    for [a, b, c] in [[3, 4, 5], [3, 5, 0], [3, 0, 1], [3, 1, 2]] {
        triangles.extend([[a, c, b], [a + 6, b + 6, c + 6]]);
    }
    for i in 0..6 {
        let j = (i + 1) % 6;
        triangles.extend([[i, j, j + 6], [i, j + 6, i + 6]]);
    }
    let angle = mesh(&positions, &triangles);
    assert!((angle.signed_volume() - 360_000.0).abs() < 1e-6);
    // It lies in the box around the angle, and has more than a fifth of its surface.
    let beside = together(&angle, &cuboid(DVec3::splat(70.0)), DVec3::new(25.0, 25.0, 10.0));
    assert!(matches!(tidy(&beside, 0.01), Err(TidyError::SeveralBodies { .. })));
}

#[test]
fn what_cannot_be_tidied_is_refused_by_name() {
    let good = cuboid(DVec3::splat(10.0));
    assert_eq!(tidy(&TriMesh::default(), 0.1), Err(TidyError::Empty));
    assert!(matches!(tidy(&good, -1.0), Err(TidyError::Tolerance { .. })));
    assert!(matches!(tidy(&good, f64::NAN), Err(TidyError::Tolerance { .. })));
    assert!(tidy(&good, 50.0).unwrap_err().to_string().contains("lower the tolerance"));
    let mut bad = good.clone();
    bad.triangles[3][1] = 8;
    let message = tidy(&bad, 0.1).unwrap_err().to_string();
    assert!(message.contains("triangle 3: vertex 8 is named, but there are 8"), "{message}");
    let mut bad = good;
    bad.positions[2].y = f64::NAN;
    assert_eq!(tidy(&bad, 0.1), Err(TidyError::NotFinite { vertex: 2 }));
    // Single precision steps by 1 mm at 10 km, and by 0.012 mm at 100 m.
    let far = |away: f64| {
        let mut form = ball(130.0, 3);
        form.positions.iter_mut().for_each(|p| *p = (*p + away).as_vec3().as_dvec3());
        tidy(&form, 1e-4)
    };
    assert!(far(1e5).is_ok());
    let message = far(1e7).unwrap_err().to_string();
    assert!(message.contains("move it to the origin"), "{message}");
    // Any unit will do: it is the reach against the size that counts.
    assert!(tidy(&cuboid(DVec3::splat(2e6)), 0.1).is_ok());
    assert!(tidy(&cuboid(DVec3::splat(2e-7)), 1e-13).is_ok());
    assert!(matches!(tidy(&cuboid(DVec3::splat(1e80)), 0.1), Err(TidyError::TooLarge { .. })));
}

#[test]
fn repairs_name_their_kind_and_their_place() {
    let crumb = cuboid(DVec3::ONE);
    let mut rough = loose(&together(&ball(20.0, 1), &crumb, DVec3::X * 50.0));
    rough.triangles.push(rough.triangles[0]);
    let repairs = cleaned(&rough, 0.01).repairs;
    let kinds: Vec<RepairKind> = repairs.iter().map(|r| r.kind).collect();
    use RepairKind::{CrumbsRemoved, DoubledTrianglesRemoved, PointsJoined};
    assert_eq!(kinds, [PointsJoined, DoubledTrianglesRemoved, CrumbsRemoved]);
    assert!(repairs.iter().all(|r| r.places.len() <= MOST_PLACES));
    // The middle of the crumb, from 50 to 51 along x.
    let [place] = repairs[2].places[..] else { panic!("{:?}", repairs[2]) };
    assert!(place.distance(DVec3::new(50.5, 0.5, 0.5)) < 0.2, "{place}");
}

// ---- what the body stood on ----

/// A dome with steep sides, of 60 by 40 and 50 high, on a sheet of 120 by 120
/// whose ends are bent up by `bent`.
fn dome_on_a_sheet(bent: f64) -> TriMesh {
    let mut form = sheet(120, 120);
    for p in &mut form.positions {
        let off = DVec3::new((p.x - 60.0) / 30.0, (p.y - 60.0) / 20.0, 0.0);
        let flat = bent * (p.x / 60.0 - 1.0).powi(2);
        p.z = if off.length() < 1.0 {
            20.0 + 30.0 * (1.0 - off.length_squared()).sqrt()
        } else {
            flat
        };
    }
    form
}

/// Turned and moved: no axis of it lies along one of the frame.
fn posed(mesh: &TriMesh) -> TriMesh {
    let turn = glam::DQuat::from_euler(glam::EulerRot::XYZ, 0.6, -1.1, 2.3);
    let positions = mesh.positions.iter().map(|p| turn * *p + DVec3::new(70.0, -900.0, 33.0));
    TriMesh { positions: positions.collect(), triangles: mesh.triangles.clone() }
}

/// The points where they were before [`posed`] and `scale`.
fn unposed(mesh: &TriMesh, scale: f64) -> Vec<DVec3> {
    let turn = glam::DQuat::from_euler(glam::EulerRot::XYZ, 0.6, -1.1, 2.3).inverse();
    let moved = |p: &DVec3| turn * (*p / scale - DVec3::new(70.0, -900.0, 33.0));
    mesh.positions.iter().map(moved).collect()
}

#[test]
fn a_sheet_around_the_foot_of_a_body_is_cut_off() {
    for bent in [0.0, 0.3] {
        for scale in [1e-3, 1.0, 25.4] {
            let mut form = posed(&dome_on_a_sheet(bent));
            form.positions.iter_mut().for_each(|p| *p *= scale);
            let cut = cut_base(&form);
            let [repair] = &cut.repairs[..] else { panic!("{:?}", cut.repairs) };
            assert_eq!(repair.kind, RepairKind::BaseCut);
            Adjacency::new(&cut.mesh).unwrap();
            assert_eq!(bodies(&cut.mesh).len(), 1);
            // All of the dome is left, and of its wall, 20 high, all but a slice.
            let known = |p: &DVec3| form.positions.contains(p);
            let dome = dome_on_a_sheet(bent).positions.iter().filter(|p| p.z >= 20.0).count();
            assert_eq!(cut.mesh.positions.iter().filter(|p| known(p)).count(), dome);
            let back = unposed(&cut.mesh, scale);
            let lowest = back.iter().map(|p| p.z).fold(f64::INFINITY, f64::min);
            assert!(lowest > 0.2 && lowest < 0.9, "{lowest}");
        }
    }
}

#[test]
fn a_body_that_stands_free_is_left_alone() {
    let lying = posed(&cuboid(DVec3::new(260.0, 90.0, 70.0)));
    let mut ellipsoid = ball(50.0, 4);
    ellipsoid.positions.iter_mut().for_each(|p| p.x *= 2.6);
    let mut open = cuboid(DVec3::new(260.0, 90.0, 70.0));
    open.triangles.drain(2..4);
    for form in [lying, ball(50.0, 4), ellipsoid, open, sheet(30, 20), band(200.0), twisted_band()]
    {
        let cut = cut_base(&form);
        assert_eq!((&cut.mesh, cut.repairs.len()), (&form, 0));
    }
    assert_eq!(cut_base(&TriMesh::default()).mesh, TriMesh::default());
}

#[test]
fn a_plate_or_block_beside_the_body_is_what_it_stood_on() {
    let mut body = ball(50.0, 4);
    body.positions.iter_mut().for_each(|p| p.x *= 2.6);
    for size in [[900.0, 700.0, 5.0], [200.0, 200.0, 4.0], [100.0, 90.0, 60.0], [20.0, 20.0, 200.0]]
    {
        let beside =
            together(&body, &cuboid(DVec3::from_array(size)), DVec3::new(-100.0, -80.0, 60.0));
        let tidied = cleaned(&posed(&beside), 0.001);
        assert_eq!(as_set(&tidied.mesh), as_set(&posed(&body)), "{size:?}");
        assert_eq!(tidied.repairs[0].kind, RepairKind::BaseCut, "{size:?}");
    }
    let two = together(&body, &body, DVec3::Y * 150.0);
    assert!(matches!(tidy(&two, 0.01), Err(TidyError::SeveralBodies { .. })));
}

#[test]
fn a_second_copy_a_hair_beside_the_surface_is_removed() {
    let one = ball(50.0, 4);
    let mut beside = ball(50.004, 4);
    for turned in [false, true] {
        if turned {
            beside = inverted(&beside);
        }
        let tidied = cleaned(&together(&one, &beside, DVec3::ZERO), 1e-4);
        assert_eq!(tidied.mesh.triangles.len(), one.triangles.len());
        assert_eq!(tidied.repairs[0].kind, RepairKind::DoubledShellRemoved);
    }
}

// ---- seams ----

/// A ball in two halves, a gap of `gap` between their rims; the upper with twice as many points
/// on it where `finer`.
fn halved(gap: f64, finer: bool) -> TriMesh {
    let whole = ball(50.0, 4);
    let half = |up: bool| {
        let mut half = whole.clone();
        half.triangles.retain(|t| {
            t.iter().all(|v| {
                if up {
                    whole.positions[*v as usize].z > -1e-9
                } else {
                    whole.positions[*v as usize].z < 1e-9
                }
            })
        });
        half
    };
    let upper = if finer { geometry::mesh::refine::refine(&half(true), 4.0) } else { half(true) };
    weld(&together(&half(false), &upper, DVec3::Z * gap), 0.0)
}

#[test]
fn halves_with_a_gap_between_are_zipped() {
    for finer in [false, true] {
        for turned in [false, true] {
            let mut halves = posed(&halved(0.04, finer));
            if turned {
                halves.triangles.iter_mut().step_by(3).for_each(|t| t.swap(0, 1));
            }
            let tidied = cleaned(&halves, 1e-4);
            let seam = tidied.repairs.iter().find(|r| r.kind == RepairKind::SeamsClosed).unwrap();
            assert!(seam.message.contains("over a length of 31"), "{}", seam.message);
            assert_eq!(rim_edges(&tidied.mesh), 0, "finer {finer}");
            assert_eq!(
                tidied.mesh.triangles.len(),
                halves.triangles.len() + if finer { 64 } else { 0 }
            );
        }
    }
}

#[test]
fn what_is_no_seam_is_not_zipped() {
    // A gap that is too wide, and two open copies of one surface, rim beside rim.
    let wide = halved(0.5, false);
    assert!(matches!(tidy(&wide, 1e-4), Err(TidyError::SeveralBodies { .. })));
    let mut bowl = ball(50.0, 4);
    bowl.triangles.retain(|t| t.iter().all(|v| bowl.positions[*v as usize].z < 20.0));
    let mut beside = bowl.clone();
    beside.positions.iter_mut().for_each(|p| *p *= 1.0001);
    let tidied = cleaned(&together(&bowl, &beside, DVec3::ZERO), 1e-4);
    assert_eq!(tidied.mesh.triangles.len(), bowl.triangles.len());
    assert!(tidied.repairs.iter().all(|r| r.kind != RepairKind::SeamsClosed));
}

#[test]
fn loose_triangles_that_miss_each_other_by_a_hair_are_joined() {
    let whole = ball(50.0, 4);
    let mut soup = loose(&whole);
    let mut state = 7_u64;
    for p in &mut soup.positions {
        for k in 0..3 {
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
            p[k] += ((state >> 40) as f64 / (1 << 24) as f64 - 0.5) * 2e-4;
        }
    }
    let tidied = cleaned(&soup, 1e-5);
    assert_eq!((tidied.mesh.triangles.len(), rim_edges(&tidied.mesh)), (whole.triangles.len(), 0));
}

// ---- spikes ----

#[test]
fn a_point_that_stands_out_alone_is_pulled_back() {
    let whole = ball(50.0, 4);
    for out in [1.2, 3.0, -0.5] {
        let mut spiked = whole.clone();
        for v in [100, 500, 900] {
            spiked.positions[v] *= out;
        }
        let tidied = cleaned(&posed(&spiked), 1e-4);
        let spikes = tidied.repairs.iter().find(|r| r.kind == RepairKind::SpikesRemoved).unwrap();
        assert_eq!((spikes.count, spikes.places.len()), (3, 3));
        // In the middle of its ring, less than a facet's depth below the ball.
        for p in unposed(&tidied.mesh, 1.0) {
            assert!(p.length() > 49.0 && p.length() < 50.001, "{out}: {p}");
        }
    }
}

#[test]
fn tips_edges_and_noise_are_no_spikes() {
    let mut cone = ball(50.0, 3);
    // Below the equator flat, above it a cone with one point.
    cone.triangles.retain(|t| t.iter().all(|v| cone.positions[*v as usize].z > -1e-9));
    let n = cone.positions.len();
    for k in 0..n {
        let p = cone.positions[k];
        cone.positions[k].z = 4.0 * (50.0 - p.truncate().length());
    }
    let mut rough = geometry::mesh::refine::refine(&ball(50.0, 4), 1.0);
    let mut state = 11_u64;
    for p in &mut rough.positions {
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
        *p *= 1.0 + ((state >> 40) as f64 / (1 << 24) as f64 - 0.5) * 0.01;
    }
    let mut tall = cuboid(DVec3::new(1.0, 1.0, 90.0));
    tall = geometry::mesh::refine::refine(&tall, 3.0);
    for form in [cone, rough, tall, cuboid(DVec3::new(260.0, 90.0, 70.0))] {
        let tidied = cleaned(&weld(&form, 0.0), 1e-9);
        let spikes = tidied.repairs.iter().find(|r| r.kind == RepairKind::SpikesRemoved);
        assert_eq!(spikes, None);
    }
}
