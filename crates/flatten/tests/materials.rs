//! Laying flat with a material, and for the worst strain.

mod surfaces;

use flatten::{FlattenError, Flattener, Flattening, Material, Options, flatten};
use geometry::mesh::TriMesh;
use glam::DVec2;

fn with(mesh: &TriMesh, material: &str, grain: f64) -> Flattening {
    let material = Some(material.parse().expect("the words name a material"));
    let flat =
        flatten(mesh, &Options { material, grain, ..Options::default() }).expect("it lies flat");
    assert!(flat.converged && flat.flipped == 0);
    flat
}

/// Every way to lay a surface flat that is not the plain one.
fn ways() -> Vec<Options> {
    let presets = Material::presets()
        .map(Some)
        .chain([None, Some("plain,along=4".parse().expect("the words name a material"))]);
    presets
        .flat_map(|material| {
            let one = Options { material, grain: 25.0, ..Options::default() };
            [one.clone(), Options { worst_strain: true, ..one }]
        })
        .collect()
}

#[test]
fn what_unrolls_unrolls_in_every_material() {
    for mesh in [surfaces::cylinder(24, 12), surfaces::cone(30, 12)] {
        for options in ways() {
            let flat = flatten(&mesh, &options).unwrap();
            assert!(flat.converged && flat.strain.p99 < 0.05, "{options:?} {}", flat.strain.p99);
            let over = options.material.as_ref().map(|_| 0.0);
            assert_eq!(flat.area_over_limit, over);
        }
    }
}

#[test]
fn what_does_not_unroll_is_laid_flat_in_every_material() {
    for mesh in [surfaces::saddle(20, 20), surfaces::cap(20, 20, 0.6), surfaces::heel_band(70, 12)]
    {
        let plain = flatten(&mesh, &Options::default()).unwrap();
        for options in ways() {
            let flat = flatten(&mesh, &options).unwrap();
            assert!(flat.converged, "{options:?}");
            assert_eq!((flat.flipped, flat.overlaps), (0, 0));
            // The plain optimum has the least plain energy.
            assert!(flat.energy >= plain.energy * (1.0 - 1e-9));
            assert!(flat.energy < 5.0 * plain.energy, "{options:?}");
            let again = flatten(&mesh, &options).unwrap();
            assert!(again.points == flat.points);
        }
    }
}

#[test]
fn no_limit_and_no_grain_change_no_byte() {
    let mesh = surfaces::heel_band(60, 12);
    let plain = flatten(&mesh, &Options::default()).unwrap();
    let unlimited = with(&mesh, "plain", 40.0);
    assert!(plain.points == unlimited.points);
    assert_eq!((plain.area_over_limit, unlimited.area_over_limit), (None, Some(0.0)));
}

#[test]
fn the_worst_strain_comes_down_and_the_mean_a_little_up() {
    let mesh = surfaces::heel_band(100, 18);
    let plain = flatten(&mesh, &Options::default()).unwrap().strain;
    let options = Options { worst_strain: true, ..Options::default() };
    let worst = flatten(&mesh, &options).unwrap().strain;
    assert!(worst.p99 < 0.75 * plain.p99, "{} {}", worst.p99, plain.p99);
    assert!(worst.mean < 2.0 * plain.mean, "{} {}", worst.mean, plain.mean);
}

/// Area-weighted mean of the strain that fibres of the flat sheet along `direction` must take.
fn fibre_strain(mesh: &TriMesh, flat: &[DVec2], direction: DVec2) -> f64 {
    let (mut sum, mut area) = (0.0, 0.0);
    for (face, t) in mesh.triangles.iter().enumerate() {
        let [a, b, c] = t.map(|v| flat[v as usize]);
        let (u, v) = (b - a, c - a);
        // direction = x u + y v, which on the surface is x U + y V.
        let double = u.perp_dot(v);
        let (x, y) = (direction.perp_dot(v) / double, u.perp_dot(direction) / double);
        let [a, b, c] = mesh.corners(face as u32);
        let stretch = ((b - a) * x + (c - a) * y).length();
        sum += double * (stretch - 1.0).abs();
        area += double;
    }
    sum / area
}

#[test]
fn a_stiff_warp_strains_less_than_the_weft() {
    for mesh in [surfaces::saddle(24, 24), surfaces::cap(24, 24, 0.6)] {
        let plain = flatten(&mesh, &Options::default()).unwrap();
        for degrees in [0.0f64, 30.0, 90.0] {
            let warp = DVec2::from_angle(degrees.to_radians());
            let stiff = with(&mesh, "plain,along=5", degrees);
            let [along, across] =
                [warp, warp.perp()].map(|d| fibre_strain(&mesh, &stiff.points, d));
            assert!(along < 0.6 * across, "{degrees}: {along} {across}");
            assert!(along < fibre_strain(&mesh, &plain.points, warp));
            // Stiffer across is the same as stiffer along, a quarter turn on.
            let other = with(&mesh, "plain,along=0.2", degrees + 90.0);
            let apart = stiff.points.iter().zip(&other.points).map(|(p, q)| p.distance(*q));
            assert!(apart.fold(0.0, f64::max) < 1e-4);
        }
    }
}

#[test]
fn the_grain_stays_in_the_piece_and_the_piece_as_it_lay() {
    let mesh = surfaces::saddle(20, 20);
    let plain = flatten(&mesh, &Options::default()).unwrap();
    let stiff = with(&mesh, "plain,along=6", 20.0);
    // On the whole not turned: the turn that fits best is none (the sum of cross products
    // over that of products is the tangent of the turn between two layouts).
    let middle = |points: &[DVec2]| points.iter().sum::<DVec2>() / points.len() as f64;
    let (p, q) = (middle(&plain.points), middle(&stiff.points));
    let pairs = plain.points.iter().zip(&stiff.points).map(|(a, b)| (*a - p, *b - q));
    let (cross, dot) =
        pairs.fold((0.0, 0.0), |(cross, dot), (a, b)| (cross + a.perp_dot(b), dot + a.dot(b)));
    let turn = f64::atan2(cross, dot).to_degrees();
    assert!(turn.abs() < 0.2, "{turn}");
}

/// Percent of the area compressed by more than `percent`, from the points alone.
fn compressed(mesh: &TriMesh, flat: &Flattening, percent: f64) -> f64 {
    let areas = mesh.face_areas();
    let pressed = |s: &[f64; 2]| 1.0 - 1.0 / s[0] > percent / 100.0;
    let pairs = areas.iter().zip(&flat.strain.singular_values);
    let over: f64 = pairs.filter(|(_, s)| pressed(s)).map(|(area, _)| area).sum();
    100.0 * over / areas.iter().sum::<f64>()
}

#[test]
fn what_hardly_compresses_is_compressed_over_less_area() {
    for mesh in [surfaces::heel_band(100, 18), surfaces::cap(24, 24, 0.7), surfaces::saddle(24, 24)]
    {
        let plain = flatten(&mesh, &Options::default()).unwrap();
        let stiff = with(&mesh, "plain,compress=0.5", 0.0);
        let [before, after] = [&plain, &stiff].map(|flat| compressed(&mesh, flat, 0.5));
        assert!(before > 2.0 && after < 0.75 * before, "{before} {after}");
        assert!(compressed(&mesh, &stiff, 2.0) < 0.5 * compressed(&mesh, &plain, 2.0));
        assert!((stiff.area_over_limit.unwrap() - after).abs() < 1e-9);
    }
}

#[test]
fn a_moved_surface_in_a_material_starts_from_its_last_layout() {
    let mesh = surfaces::heel_band(60, 12);
    let options =
        Options { material: Some(Material::board()), worst_strain: true, ..Options::default() };
    let mut flattener = Flattener::new(&mesh, &options).unwrap();
    flattener.flatten().unwrap();
    let moved: Vec<_> = mesh.positions.iter().map(|p| *p * 1.002).collect();
    let warm = flattener.flatten_moved(&moved).unwrap();
    let cold = flattener.flatten().unwrap();
    assert!(warm.converged && warm.iterations <= cold.iterations);
    let apart = warm.points.iter().zip(&cold.points).map(|(p, q)| p.distance(*q));
    assert!(apart.fold(0.0, f64::max) < 0.01);
}

#[test]
fn what_cannot_be_is_refused() {
    let mesh = surfaces::saddle(4, 4);
    let material = Some(Material { stretch: -1.0, ..Material::board() });
    let refused = flatten(&mesh, &Options { material, ..Options::default() });
    assert!(matches!(refused, Err(FlattenError::Material(_))));
    let refused = flatten(&mesh, &Options { grain: f64::NAN, ..Options::default() });
    assert!(refused.unwrap_err().to_string().contains("NaN degrees"));
}

#[test]
fn steps_that_run_out_leave_the_layout_before_them() {
    let mesh = surfaces::heel_band(60, 12);
    let plain = flatten(&mesh, &Options::default()).unwrap();
    let options =
        Options { worst_strain: true, max_iterations: plain.iterations + 1, ..Options::default() };
    let flat = flatten(&mesh, &options).unwrap();
    assert!(!flat.converged && flat.points == plain.points);
}
