//! Tests of every law: energy, slope, curvature, and how the curvature is cut off.

use geometry::mesh::TriMesh;

use super::*;
use crate::surfaces;

const LIMITED: Principal = Principal { longest: 1.03, shortest: 0.99 };
const WARP: Fibres = Fibres { along: 2.0, across: 0.0 };
const BOTH: Fibres = Fibres { along: 0.3, across: 2.0 };

/// Every kind of law, by name.
fn laws() -> Vec<(&'static str, Law)> {
    let plain = Law::PLAIN;
    let limited = Law { principal: LIMITED, ..plain };
    let warp = Law { fibres: Some(WARP), grain: 0.4, ..plain };
    let whole = Law { principal: LIMITED, fibres: Some(BOTH), grain: -1.1, emphasis: 0.0 };
    vec![
        ("plain", plain),
        ("limited", limited),
        ("warp", warp),
        ("limited with a grain", whole),
        ("plain, worst", Law { emphasis: 3.0, ..plain }),
        ("limited, worst", Law { emphasis: 3.0, ..limited }),
        ("limited with a grain, worst", Law { emphasis: 0.3, ..whole }),
    ]
}

/// A surface and a layout of it that is strained one way and the other, but not flipped.
fn strained() -> (TriMesh, Dirichlet, Vec<DVec2>) {
    let mesh = surfaces::saddle(5, 4);
    let points = mesh
        .positions
        .iter()
        .map(|p| {
            DVec2::new(1.2 * p.x + 0.2 * p.y + 0.004 * p.y * p.y, 0.9 * p.y - 0.003 * p.x * p.y)
        })
        .collect();
    let dirichlet = Dirichlet::new(&mesh);
    (mesh, dirichlet, points)
}

fn gradient(sheet: &Sheet<'_>, points: &[DVec2]) -> Vec<DVec2> {
    let mut gradient = vec![DVec2::ZERO; points.len()];
    sheet.add_gradient(points, &mut gradient);
    gradient
}

fn moved(points: &[DVec2], v: usize, k: usize, by: f64) -> Vec<DVec2> {
    let mut points = points.to_vec();
    points[v][k] += by;
    points
}

fn dense(
    sheet: &Sheet<'_>,
    mesh: &TriMesh,
    points: &[DVec2],
    curvature: Curvature,
) -> Vec<Vec<f64>> {
    let mut system = System::new(points.len(), &mesh.triangles, &[]).unwrap();
    sheet.add_hessian(points, curvature, &mut system);
    system.dense()
}

#[test]
fn gradients_agree_with_finite_differences() {
    let (mesh, geometry, points) = strained();
    let reference: Vec<DVec2> = mesh.positions.iter().map(|p| DVec2::new(p.x, p.y)).collect();
    for (name, law) in laws() {
        for turns in [false, true] {
            let turn = turns.then(|| MeanTurn::new(&geometry, &reference));
            let sheet = Sheet { geometry: &geometry, law, turn };
            let exact = gradient(&sheet, &points);
            let size = exact.iter().map(|g| g.length()).fold(0.0, f64::max);
            let h = 1e-5;
            for (v, exact) in exact.iter().enumerate() {
                for (k, exact) in exact.to_array().into_iter().enumerate() {
                    let ahead = sheet.energy(&moved(&points, v, k, h));
                    let behind = sheet.energy(&moved(&points, v, k, -h));
                    let slope = (ahead - behind) / (2.0 * h);
                    assert!((slope - exact).abs() < 1e-7 * size, "{name}: {slope} {exact}");
                }
            }
        }
    }
}

#[test]
fn full_hessians_agree_with_finite_differences() {
    let (mesh, geometry, points) = strained();
    for (name, law) in laws() {
        let sheet = Sheet { geometry: &geometry, law, turn: None };
        let exact = dense(&sheet, &mesh, &points, Curvature::Full);
        let size = exact.iter().flatten().fold(0.0, |a: f64, b| a.max(b.abs()));
        let h = 1e-5;
        for column in 0..exact.len() {
            let (v, k) = (column / 2, column % 2);
            let ahead = gradient(&sheet, &moved(&points, v, k, h));
            let behind = gradient(&sheet, &moved(&points, v, k, -h));
            for row in 0..exact.len() {
                let bend = (ahead[row / 2] - behind[row / 2])[row % 2] / (2.0 * h);
                let off = (bend - exact[row][column]).abs();
                assert!(off < 1e-6 * size, "{name}: {row} {column} {off} {size}");
            }
        }
    }
}

/// Numbers in -1..1, the same each time (a linear congruential generator).
fn scattered() -> impl FnMut() -> f64 {
    let mut state = 1u64;
    move || {
        state = state.wrapping_mul(6364136223846793005).wrapping_add(1442695040888963407);
        (state >> 11) as f64 / (1u64 << 52) as f64 - 1.0
    }
}

#[test]
fn what_is_cut_off_leaves_nothing_negative_and_takes_nothing_away() {
    let mut next = scattered();
    let mut cut = vec![0; laws().len()];
    for _ in 0..2000 {
        let z = DVec2::new(next(), next()) * 1.5;
        let w = DVec2::new(next(), next()).normalize_or_zero() * (0.9 * z.length() * next());
        let along = glam::DVec4::new(next(), next(), next(), next());
        // The turn of z is where curvature is negative, when the triangle is shrunk.
        for along in [along, stacked(z.perp(), along.x * w.perp())] {
            for ((name, law), cut) in laws().into_iter().zip(&mut cut) {
                let law = Law { emphasis: law.emphasis * 1e-3, ..law };
                let [full, projected] = [Curvature::Full, Curvature::Projected]
                    .map(|c| law.local(Parts { z, w }, c).bend)
                    .map(|m| (along.dot(m * along), m.to_cols_array().map(f64::abs)));
                let tiny = 1e-12 * full.1.into_iter().chain(projected.1).fold(0.0, f64::max);
                assert!(projected.0 >= -tiny, "{name}: {}", projected.0);
                assert!(projected.0 >= full.0 - tiny, "{name}: {} {}", projected.0, full.0);
                *cut += usize::from(full.0 < -tiny);
            }
        }
    }
    assert!(cut.iter().all(|&times| times > 20), "{cut:?}");
}

#[test]
fn without_limits_and_grain_it_is_the_symmetric_dirichlet_energy() {
    let (mesh, geometry, points) = strained();
    let unlimited: Material = "plain".parse().unwrap();
    let sheet = Sheet { geometry: &geometry, law: Law::new(&unlimited, 0.7), turn: None };
    assert_eq!(sheet.law, Law::PLAIN);
    assert_eq!(Energy::energy(&sheet, &points), geometry.energy(&points));
    let mut plain = vec![DVec2::ZERO; points.len()];
    geometry.add_gradient(&points, &mut plain);
    for (ours, plain) in gradient(&sheet, &points).iter().zip(&plain) {
        assert!(ours.abs_diff_eq(*plain, 1e-16));
    }
    for curvature in [Curvature::Full, Curvature::Projected] {
        let ours = dense(&sheet, &mesh, &points, curvature);
        let mut system = System::new(points.len(), &mesh.triangles, &[]).unwrap();
        geometry.add_hessian(&points, curvature, &mut system);
        for (ours, plain) in ours.iter().flatten().zip(system.dense().iter().flatten()) {
            assert!((ours - plain).abs() < 1e-15, "{ours} {plain}");
        }
    }
}

#[test]
fn emphasis_and_extra_stiffness_vanish_smoothly() {
    let (_, geometry, points) = strained();
    let plain = geometry.energy(&points);
    let with = |law| Sheet { geometry: &geometry, law, turn: None }.energy(&points);
    let emphasis = 1e-9;
    assert!((with(Law { emphasis, ..Law::PLAIN }) - plain).abs() < 1e-8 * plain);
    let fibres = Some(Fibres { along: 1e-9, across: 0.0 });
    assert!((with(Law { fibres, ..Law::PLAIN }) - plain).abs() < 1e-8 * plain);
}

#[test]
fn turning_the_piece_with_its_grain_changes_nothing() {
    let (mesh, geometry, points) = strained();
    let quarter: Vec<DVec2> = points.iter().map(|p| p.perp()).collect();
    let reference: Vec<DVec2> = mesh.positions.iter().map(|p| DVec2::new(p.x, p.y)).collect();
    for (name, law) in laws() {
        let sheet = |law, turn| Sheet { geometry: &geometry, law, turn };
        let grain = law.grain + std::f64::consts::FRAC_PI_2;
        let before = sheet(law, None).energy(&points);
        let turned = sheet(Law { grain, ..law }, None).energy(&quarter);
        assert!((turned - before).abs() < 1e-12 * before, "{name}");
        // With a grain the pose counts, unless the grain turns with the piece.
        let left = sheet(law, None).energy(&quarter);
        assert_eq!((left - before).abs() > 1e-6 * before, law.has_grain(), "{name}");
        let [one, other] = [&points, &quarter]
            .map(|p| sheet(law, Some(MeanTurn::new(&geometry, &reference))).energy(p));
        assert!((one - other).abs() < 1e-12 * one, "{name}");
    }
}

#[test]
fn costs_of_plain_stretch_are_known() {
    // 4 % longer in the plane along x: the sheet is compressed by 1 - 1/1.04 along it.
    let parts = |sx: f64, sy: f64| Parts {
        z: DVec2::new((sx + sy) / 2.0, 0.0),
        w: DVec2::new((sx - sy) / 2.0, 0.0),
    };
    let stretch = |s: f64| (s - 1.0 / s) * (s - 1.0 / s);
    let close = |a: f64, b: f64| assert!((a - b).abs() < 1e-12, "{a} {b}");
    let warp = Law { fibres: Some(WARP), ..Law::PLAIN };
    close(warp.cost(parts(1.04, 0.97)), 3.0 * stretch(1.04) + stretch(0.97));
    let weft = DVec2::Y;
    let turned = Parts {
        z: conjugate(weft).rotate(parts(1.04, 0.97).z),
        w: conjugate(weft).rotate(parts(1.04, 0.97).w),
    };
    close(warp.cost(turned), stretch(1.04) + 3.0 * stretch(0.97));
    // Within the limits nothing is added; beyond, a constant force after its soft onset.
    let beyond = |e: f64| e * e * e / ((e + 2e-3) * (e + 2e-3));
    let limited = Law { principal: LIMITED, ..Law::PLAIN };
    close(limited.cost(parts(1.01, 0.971)), stretch(1.01) + stretch(0.971));
    close(limited.cost(parts(1.04, 1.0)), stretch(1.04) + beyond(1.04 * 0.99 - 1.0));
    close(limited.cost(parts(1.0, 0.96)), stretch(0.96) + beyond(1.0 / (0.96 * 1.03) - 1.0));
    let board = Law::new(&Material { stretch: 3.0, compress: 1.0, ..Material::board() }, 0.0);
    assert_eq!(
        board.principal,
        Principal { longest: 1.0 + 0.8 * 0.03, shortest: 1.0 - 0.8 * 0.01 }
    );
    // Both together, and emphasised.
    let worst = Law { emphasis: 5.0, ..Law::PLAIN };
    close(worst.cost(parts(1.2, 0.9)), ((5.0 * (stretch(1.2) + stretch(0.9))).exp() - 1.0) / 5.0);
    let flipped = vec![DVec2::ZERO, DVec2::Y, DVec2::X];
    let mesh = TriMesh {
        positions: vec![glam::DVec3::ZERO, glam::DVec3::X, glam::DVec3::Y],
        triangles: vec![[0, 1, 2]],
    };
    let geometry = Dirichlet::new(&mesh);
    for (_, law) in laws() {
        let sheet = Sheet { geometry: &geometry, law, turn: None };
        assert_eq!(sheet.energy(&flipped), f64::INFINITY);
    }
}
