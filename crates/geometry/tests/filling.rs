//! Filled holes: closed, manifold, on the true surface, and the same whatever the order.

#![allow(clippy::unwrap_used, reason = "a test may fail so")]

mod shapes;

use geometry::mesh::TriMesh;
use geometry::mesh::adjacency::Adjacency;
use geometry::mesh::bodies::only;
use geometry::mesh::holes::{Filled, HoleError, Limits, fill_holes};
use geometry::mesh::refine::refine;
use geometry::mesh::repair::RepairKind;
use geometry::mesh::subdivide::subdivide_smooth;
use geometry::mesh::tidy::tidy;
use glam::{DQuat, DVec3};
use proptest::prelude::*;
use shapes::{as_set, ball, cuboid, mesh, rim_edges, sheet, together};

const ALL: Limits = Limits { keep_open: None, largest: 1.0 };

/// The mesh without the triangles whose middles `cut` takes.
fn without(whole: &TriMesh, cut: impl Fn(DVec3) -> bool) -> TriMesh {
    let keep: Vec<u32> = (0..whole.triangles.len() as u32)
        .filter(|f| !cut(whole.corners(*f).iter().sum::<DVec3>() / 3.0))
        .collect();
    only(whole, &keep)
}

/// Fills, and checks what must hold of every outcome.
fn filled(holed: &TriMesh, limits: &Limits) -> Result<Filled, HoleError> {
    let filled = fill_holes(holed, limits)?;
    Adjacency::new(&filled.mesh).unwrap();
    let left = filled.opening.as_ref().map_or(0, |o| o.rim.len());
    assert_eq!(rim_edges(&filled.mesh), left);
    assert!(filled.mesh.positions.iter().all(|p| p.is_finite()));
    let mut used = vec![false; filled.mesh.positions.len()];
    filled.mesh.triangles.iter().flatten().for_each(|v| used[*v as usize] = true);
    assert!(used.iter().all(|u| *u), "a vertex is unused");
    Ok(filled)
}

/// The vertices that were added.
fn added<'a>(filled: &'a Filled, holed: &TriMesh) -> &'a [DVec3] {
    let old = holed.positions.len();
    assert_eq!(filled.mesh.positions[..old], holed.positions[..], "an old vertex moved");
    assert_eq!(filled.mesh.triangles[..holed.triangles.len()], holed.triangles[..]);
    &filled.mesh.positions[old..]
}

#[test]
fn a_hole_of_15_in_a_ball_of_30_comes_within_a_tenth() {
    let whole = ball(30.0, 5);
    let holed = without(&whole, |p| p.distance(DVec3::new(10.0, 20.0, 20.0)) < 7.5);
    let filled = filled(&holed, &ALL).unwrap();
    let new = added(&filled, &holed);
    assert!(new.len() > 20);
    let off = new.iter().map(|p| (p.length() - 30.0).abs()).fold(0.0, f64::max);
    assert!(off < 0.05, "{off}");
    let (before, after) = (whole.signed_volume(), filled.mesh.signed_volume());
    assert!((after - before).abs() < 1e-3 * before);
    assert_eq!(filled.repairs.len(), 1);
    assert_eq!(filled.repairs[0].kind, RepairKind::HoleFilled);
    assert!(!filled.repairs[0].message.contains("sharp"), "{}", filled.repairs[0].message);
}

#[test]
fn a_hole_with_more_points_than_are_cut_up_at_once_is_as_smooth() {
    let whole = ball(30.0, 7);
    let holed = without(&whole, |p| p.distance(DVec3::new(10.0, 20.0, 20.0)) < 18.0);
    assert!(rim_edges(&holed) > 300);
    let filled = filled(&holed, &ALL).unwrap();
    let new = added(&filled, &holed);
    let off = new.iter().map(|p| (p.length() - 30.0).abs()).fold(0.0, f64::max);
    // 35 across is more than a plate can bend to a ball; one of 15 is within a hundredth.
    assert!(off < 0.35, "{off}");
}

#[test]
fn a_hole_in_a_flat_part_stays_flat() {
    let whole = refine(&cuboid(DVec3::new(40.0, 30.0, 20.0)), 1.5);
    let holed = without(&whole, |p| p.z > 19.9 && p.distance(DVec3::new(15.0, 15.0, 20.0)) < 8.0);
    let filled = filled(&holed, &ALL).unwrap();
    let new = added(&filled, &holed);
    assert!(new.len() > 20);
    assert!(new.iter().all(|p| (p.z - 20.0).abs() < 1e-9));
    assert!((filled.mesh.signed_volume() - 24_000.0).abs() < 1e-6);
    let area: f64 = filled.mesh.face_areas().iter().sum();
    assert!((area - whole.face_areas().iter().sum::<f64>()).abs() < 1e-6, "it overlaps itself");
}

#[test]
fn a_hole_across_a_sharp_edge_says_that_the_edge_is_invented() {
    let whole = refine(&cuboid(DVec3::new(40.0, 30.0, 20.0)), 1.5);
    let holed = without(&whole, |p| p.distance(DVec3::new(20.0, 0.0, 20.0)) < 5.0);
    let filled = filled(&holed, &ALL).unwrap();
    assert!(filled.repairs[0].message.contains("sharp edge"), "{}", filled.repairs[0].message);
    assert!(filled.repairs[0].hint.contains("look at the edge"));
    assert!(filled.repairs[0].places[0].distance(DVec3::new(20.0, 0.0, 20.0)) < 3.0);
}

#[test]
fn the_largest_opening_stays_and_the_rest_is_filled() {
    let whole = ball(30.0, 5);
    let holed = without(&whole, |p| p.z > 22.0 || p.distance(DVec3::new(30.0, 0.0, 0.0)) < 4.0);
    let limits = Limits { keep_open: Some(0.3), largest: 0.2 };
    let filled = filled(&holed, &limits).unwrap();
    let opening = filled.opening.as_ref().unwrap();
    assert!((opening.extent - 2.0 * (900.0_f64 - 484.0).sqrt()).abs() < 2.0, "{}", opening.extent);
    assert!(opening.rim.iter().all(|p| p.z > 18.0));
    let kinds: Vec<RepairKind> = filled.repairs.iter().map(|r| r.kind).collect();
    assert_eq!(kinds, [RepairKind::HoleFilled, RepairKind::OpeningLeft]);
}

#[test]
fn a_hole_over_the_limit_is_refused_with_place_and_size() {
    let holed = without(&ball(30.0, 5), |p| p.distance(DVec3::new(30.0, 0.0, 0.0)) < 12.0);
    let error = filled(&holed, &Limits { keep_open: None, largest: 0.3 }).unwrap_err();
    let HoleError::TooLarge { place, extent, span, .. } = error else { panic!("{error}") };
    assert!(place.distance(DVec3::new(27.6, 0.0, 0.0)) < 1.0, "{place}");
    assert!((extent - 24.0).abs() < 2.0 && (span - 60.0).abs() < 1.0);
    assert!(error.to_string().contains("% of the surface"), "{error}");
}

#[test]
fn one_triangle_or_an_open_sheet_is_refused_or_left() {
    let one = mesh(&[[0.0; 3], [1.0, 0.0, 0.0], [0.0, 1.0, 0.0]], &[[0, 1, 2]]);
    for open in [one, sheet(5, 4), sheet(1, 1)] {
        assert!(matches!(filled(&open, &ALL), Err(HoleError::Sheet { .. })));
        let kept = filled(&open, &Limits { keep_open: Some(0.5), largest: 1.0 }).unwrap();
        assert_eq!(kept.mesh, open);
        assert!(kept.opening.is_some());
    }
    assert_eq!(filled(&TriMesh::default(), &ALL).unwrap().mesh, TriMesh::default());
}

#[test]
fn an_island_in_a_hole_is_named() {
    let whole = ball(30.0, 5);
    let pole = DVec3::new(0.0, 0.0, 30.0);
    let holed = without(&whole, |p| p.distance(pole) < 8.0 && p.distance(pole) > 4.0);
    let error = filled(&holed, &ALL).unwrap_err();
    assert!(matches!(error, HoleError::LoosePiece { .. }), "{error}");
    // Tidying drops it.
    let filled = filled(&tidy(&holed, 0.0).unwrap().mesh, &ALL).unwrap();
    assert_eq!(filled.repairs.len(), 1);
}

#[test]
fn holes_that_touch_in_a_vertex_are_two_holes() {
    let whole = ball(30.0, 3);
    // Two triangles at one vertex that do not share an edge.
    let around: Vec<u32> = (0..whole.triangles.len() as u32)
        .filter(|f| whole.triangles[*f as usize].contains(&40))
        .collect();
    let apart = |a: u32, b: u32| {
        let (s, t) = (whole.triangles[a as usize], whole.triangles[b as usize]);
        s.iter().filter(|v| t.contains(v)).count() == 1
    };
    let other = around.iter().find(|f| apart(around[0], **f)).unwrap();
    let keep: Vec<u32> =
        (0..whole.triangles.len() as u32).filter(|f| *f != around[0] && f != other).collect();
    let holed = TriMesh {
        positions: whole.positions.clone(),
        triangles: keep.iter().map(|f| whole.triangles[*f as usize]).collect(),
    };
    // As it is, and as tidying leaves it, with the vertex doubled.
    for holed in [holed.clone(), tidy(&holed, 0.0).unwrap().mesh] {
        let filled = filled(&holed, &ALL).unwrap();
        assert_eq!(as_set(&filled.mesh), as_set(&whole));
    }
}

#[test]
fn a_seam_that_closes_exactly_is_joined() {
    let whole = ball(30.0, 3);
    // One vertex in the middle of a crack of two edges, doubled.
    let t = whole.triangles[100];
    let mut cracked = whole.clone();
    let [a, b, _] = t;
    let c = whole.triangles.iter().flatten().copied().filter(|v| *v != a && *v != b).find(|c| {
        let near = |u: u32| whole.triangles.iter().any(|t| t.contains(&u) && t.contains(c));
        near(b) && !near(a)
    });
    let c = c.unwrap();
    // The triangles on one side of the path a, b, c get a vertex of their own for b.
    let mut side = Vec::new();
    let mut from = a;
    while from != c {
        let (face, t) = whole
            .triangles
            .iter()
            .enumerate()
            .find(|(_, t)| (0..3).any(|k| t[k] == b && t[(k + 1) % 3] == from))
            .unwrap();
        side.push(face);
        from = *t.iter().find(|v| **v != b && **v != from).unwrap();
    }
    cracked.positions.push(whole.positions[b as usize]);
    let copy = cracked.positions.len() as u32 - 1;
    for face in side {
        for v in &mut cracked.triangles[face] {
            *v = if *v == b { copy } else { *v };
        }
    }
    assert_eq!(rim_edges(&cracked), 4);
    let filled = filled(&cracked, &ALL).unwrap();
    assert_eq!(as_set(&filled.mesh), as_set(&whole));
}

#[test]
fn unit_and_pose_and_order_do_not_matter() {
    // Without symmetry: among equals, rounding decides.
    let mut whole = ball(30.0, 4);
    for (p, i) in whole.positions.iter_mut().zip(0..) {
        *p = *p * DVec3::new(1.0, 0.9, 0.8) + 0.2 * scatter(i);
    }
    let cut = [(DVec3::new(29.0, 3.0, 2.0), 9.3), (DVec3::new(1.0, -22.0, 15.0), 7.7)];
    let holed = without(&whole, |p| cut.iter().any(|(c, r)| p.distance(*c) < *r));
    let plain = filled(&holed, &ALL).unwrap();
    let turn = DQuat::from_axis_angle(DVec3::new(0.2, 0.7, -0.4).normalize(), 2.1);
    for scale in [0.001, 1.0 / 25.4, 1.0, 1000.0] {
        let shift = DVec3::new(17.0, -230.0, 1.5) * scale;
        let moved = |p: DVec3| turn * (p * scale) + shift;
        let mut posed = holed.clone();
        posed.positions.iter_mut().for_each(|p| *p = moved(*p));
        let posed = filled(&posed, &ALL).unwrap();
        assert_eq!(posed.mesh.positions.len(), plain.mesh.positions.len());
        assert_eq!(posed.repairs.len(), plain.repairs.len());
        for p in &plain.mesh.positions {
            let near = posed.mesh.positions.iter().map(|q| q.distance(moved(*p)));
            let near = near.fold(f64::INFINITY, f64::min);
            assert!(near < 1e-6 * scale, "{near} at scale {scale}");
        }
    }
    let mut turned = holed;
    turned.triangles.reverse();
    turned.triangles.iter_mut().for_each(|t| t.rotate_left(1));
    let turned = filled(&turned, &ALL).unwrap();
    assert_eq!(turned.mesh.positions.len(), plain.mesh.positions.len());
    assert_eq!(turned.repairs, plain.repairs);
}

#[test]
fn damaged_meshes_are_refused_by_name() {
    let mut wild = ball(10.0, 1);
    wild.triangles[3][1] = 1000;
    assert!(matches!(filled(&wild, &ALL), Err(HoleError::IndexOutOfRange { .. })));
    let mut not_finite = ball(10.0, 1);
    not_finite.positions[3].y = f64::NAN;
    assert!(matches!(filled(&not_finite, &ALL), Err(HoleError::NotFinite { vertex: 3 })));
    let mut doubled = ball(10.0, 1);
    doubled.triangles.push(doubled.triangles[0]);
    assert!(matches!(filled(&doubled, &ALL), Err(HoleError::NotManifold { .. })));
    let two = together(&ball(10.0, 2), &ball(3.0, 1), DVec3::X * 30.0);
    assert_eq!(filled(&two, &ALL).unwrap().mesh, two, "closed bodies are left alone");
}

/// A step in one of many directions, up to half a unit along each axis, different for each number.
fn scatter(i: u32) -> DVec3 {
    let part =
        |k: u32| f64::from((i * 3 + k).wrapping_mul(2_654_435_761) >> 8) / f64::from(1 << 24);
    DVec3::new(part(0), part(1), part(2)) - 0.5
}

/// A long closed body with a flat bottom and rounded everywhere else.
fn last_like() -> TriMesh {
    let mut body = refine(&cuboid(DVec3::new(26.0, 9.0, 7.0)), 4.0);
    for _ in 0..2 {
        body = subdivide_smooth(&body);
    }
    for p in &mut body.positions {
        p.z += 0.02 * (p.x - 13.0).powi(2);
        p.y *= 1.0 + 0.3 * (p.x / 26.0);
    }
    body
}

/// Some triangles of `whole`, and those around each, taken out; the largest body that is left.
fn riddled(whole: &TriMesh, seeds: &[(prop::sample::Index, f64)], tidied: bool) -> TriMesh {
    let centres: Vec<(DVec3, f64)> = seeds
        .iter()
        .map(|(i, radius)| (whole.corners(i.index(whole.triangles.len()) as u32)[0], *radius))
        .collect();
    let holed = without(whole, |p| centres.iter().any(|(c, r)| p.distance(*c) <= *r));
    if tidied { tidy(&holed, 0.0).map_or(holed, |t| t.mesh) } else { holed }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(150))]

    #[test]
    fn small_holes_in_a_ball_are_closed_on_the_ball(
        seeds in prop::collection::vec((any::<prop::sample::Index>(), 1.0..6.0_f64), 1..12),
    ) {
        let holed = riddled(&ball(30.0, 4), &seeds, true);
        match filled(&holed, &ALL) {
            Ok(filled) => for p in &filled.mesh.positions {
                // Holes that run together may be long; a single one is within a tenth.
                let off = (p.length() - 30.0).abs();
                prop_assert!(off < if seeds.len() == 1 { 0.1 } else { 1.5 }, "{off}");
            },
            Err(HoleError::Crossing { .. }) => prop_assert!(seeds.len() > 1),
            Err(other) => prop_assert!(false, "{other}"),
        }
    }

    #[test]
    fn any_triangles_at_all_are_filled_or_refused(
        points in prop::collection::vec(prop::array::uniform3(-2..3_i8), 3..12),
        corners in prop::collection::vec(prop::array::uniform3(any::<prop::sample::Index>()), 1..16),
        keep in any::<bool>(),
    ) {
        let positions: Vec<[f64; 3]> = points.iter().map(|p| p.map(f64::from)).collect();
        let triangles: Vec<[u32; 3]> =
            corners.iter().map(|t| t.map(|i| i.index(points.len()) as u32)).collect();
        let wild = mesh(&positions, &triangles);
        let limits = Limits { keep_open: keep.then_some(0.5), largest: 1.0 };
        if let Ok(filled) = fill_holes(&wild, &limits) {
            Adjacency::new(&filled.mesh).unwrap();
        }
        // The same without what would be refused at once.
        if let Ok(tidied) = tidy(&wild, 0.0) {
            let _ = filled(&tidied.mesh, &limits);
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(75))]

    #[test]
    fn a_riddled_body_is_closed_or_refused_by_name(
        seeds in prop::collection::vec((any::<prop::sample::Index>(), 0.0..5.0_f64), 1..20),
        tidied in any::<bool>(),
        noise in prop::option::of(0.0..0.4_f64),
    ) {
        closed_or_refused(&seeds, None, tidied, noise)?;
    }

    #[test]
    fn a_riddled_body_with_an_opening_is_closed_or_refused_by_name(
        seeds in prop::collection::vec((any::<prop::sample::Index>(), 0.0..5.0_f64), 1..20),
        keep in 0.1..0.6_f64,
        tidied in any::<bool>(),
        noise in prop::option::of(0.0..0.4_f64),
    ) {
        closed_or_refused(&seeds, Some(keep), tidied, noise)?;
    }
}

/// What comes out is sound, as `filled` asks of it; what is refused is so for its holes, or for
/// parts that only touch, which tidying would have taken apart.
fn closed_or_refused(
    seeds: &[(prop::sample::Index, f64)],
    keep_open: Option<f64>,
    tidied: bool,
    noise: Option<f64>,
) -> Result<(), TestCaseError> {
    let mut holed = riddled(&last_like(), seeds, tidied);
    if let Some(noise) = noise {
        for (p, i) in holed.positions.iter_mut().zip(0..) {
            *p += noise * scatter(i);
        }
    }
    match filled(&holed, &Limits { keep_open, largest: 0.8 }) {
        Ok(_)
        | Err(
            HoleError::TooLarge { .. }
            | HoleError::Crossing { .. }
            | HoleError::LoosePiece { .. }
            | HoleError::Sheet { .. },
        ) => {}
        Err(HoleError::NotManifold { .. }) => prop_assert!(!tidied),
        Err(other) => prop_assert!(false, "{other}"),
    }
    Ok(())
}
