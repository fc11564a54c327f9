//! Disk-shaped surfaces by our own equations, all invented, for tests and benches.

#![allow(dead_code, reason = "each test and bench uses some of these")]
#![allow(unreachable_pub, reason = "compiled into several crates")]

use geometry::mesh::TriMesh;
use glam::{DVec2, DVec3};

/// The image of a grid of `columns` x `rows` points over the unit square, row by row.
/// Diagonals alternate. Triangles are counter-clockwise seen from the side of d/du x d/dv.
pub fn grid(columns: usize, rows: usize, surface: impl Fn(f64, f64) -> DVec3) -> TriMesh {
    let along = |i: usize, count: usize| i as f64 / (count - 1) as f64;
    let positions = (0..rows)
        .flat_map(|r| (0..columns).map(move |c| (c, r)))
        .map(|(c, r)| surface(along(c, columns), along(r, rows)))
        .collect();
    let mut triangles = Vec::new();
    for r in 0..rows - 1 {
        for c in 0..columns - 1 {
            let [a, b] = [c, c + 1].map(|c| (r * columns + c) as u32);
            let [d, e] = [a, b].map(|v| v + columns as u32);
            if (r + c) % 2 == 0 {
                triangles.extend([[a, b, e], [a, e, d]]);
            } else {
                triangles.extend([[a, b, d], [b, e, d]]);
            }
        }
    }
    TriMesh { positions, triangles }
}

/// 100 mm of the way round a cylinder of radius 40 mm, 60 mm high.
pub fn cylinder(columns: usize, rows: usize) -> TriMesh {
    grid(columns, rows, |u, v| {
        let angle = 2.5 * u;
        DVec3::new(40.0 * angle.cos(), 40.0 * angle.sin(), 60.0 * v)
    })
}

/// Part of a cone of half angle 0.4, 40 to 110 mm off its tip, 3.5 radians round.
pub fn cone(columns: usize, rows: usize) -> TriMesh {
    grid(columns, rows, |u, v| {
        let (sin, cos) = 0.4f64.sin_cos();
        let r = 110.0 - 70.0 * v;
        DVec3::new(r * sin * (3.5 * u).cos(), r * sin * (3.5 * u).sin(), -r * cos)
    })
}

/// A square with rounded sides on a sphere of radius 40 mm; its corners are `opening` radians
/// off the top.
pub fn cap(columns: usize, rows: usize, opening: f64) -> TriMesh {
    grid(columns, rows, |u, v| {
        let flat = DVec2::new(2.0 * u - 1.0, 2.0 * v - 1.0) * opening / 2f64.sqrt();
        let angle = flat.length();
        let side = flat.normalize_or_zero() * (40.0 * angle.sin());
        side.extend(40.0 * angle.cos())
    })
}

/// z = (x² - y²) / 120 mm over a square of 80 mm.
pub fn saddle(columns: usize, rows: usize) -> TriMesh {
    grid(columns, rows, |u, v| {
        let (x, y) = (80.0 * u - 40.0, 80.0 * v - 40.0);
        DVec3::new(x, y, (x * x - y * y) / 120.0)
    })
}

/// A ramp 10 mm wide that winds about its axis by `turn` radians.
pub fn ramp(columns: usize, rows: usize, turn: f64) -> TriMesh {
    grid(columns, rows, |u, v| {
        let r = 30.0 - 10.0 * v;
        let angle = turn * u;
        DVec3::new(r * angle.cos(), r * angle.sin(), angle)
    })
}

/// A wall about a heel: 300 mm from the inside wing round the back to the outside wing, 50 mm
/// high at the back and 40 at the ends, about 32 mm round, widest 25 mm up. Row 0 is the lower
/// edge.
pub fn heel_band(columns: usize, rows: usize) -> TriMesh {
    bulged_band(columns, rows, 2.5)
}

/// The same with another bulge at the back than 2.5 mm beyond the 1.5 mm all along; at 4 mm the
/// layout strains 1 % of the area by some 8.9 % and more.
pub fn bulged_band(columns: usize, rows: usize, at_back: f64) -> TriMesh {
    const LENGTH: f64 = 300.0;
    let plan = heel_plan(LENGTH);
    grid(columns, rows, |u, v| {
        let s = LENGTH * (u - 0.5);
        let at = u * (plan.len() - 1) as f64;
        let below = (at as usize).min(plan.len() - 2);
        let (a, b) = (plan[below], plan[below + 1]);
        let foot = a.0.lerp(b.0, at - below as f64);
        let heading = a.1 + (b.1 - a.1) * (at - below as f64);
        let z = v * (40.0 + 10.0 * (std::f64::consts::PI * s / LENGTH).cos().powi(2));
        let bulge = 1.5 + at_back * (-(s / 60.0).powi(2)).exp();
        let out = bulge * (1.0 - ((z - 25.0) / 25.0).powi(2));
        (foot - DVec2::from_angle(heading).perp() * out).extend(z)
    })
}

/// Points and headings along the plan of the band: curvature 1/32 about the back that fades out
/// over some 10 mm into straight wings.
fn heel_plan(length: f64) -> Vec<(DVec2, f64)> {
    const STEPS: usize = 6000;
    let step = length / STEPS as f64;
    let curvature = |s: f64| 1.0 / 32.0 / (1.0 + ((s.abs() - 46.0) / 5.0).exp());
    let mut plan = vec![(DVec2::ZERO, 0.0)];
    for i in 0..STEPS {
        let (at, heading) = plan[i];
        let middle = (i as f64 + 0.5) * step - length / 2.0;
        let next = heading + curvature(middle) * step;
        plan.push((at + DVec2::from_angle((heading + next) / 2.0) * step, next));
    }
    plan
}

/// Row `row` of a grid surface with `columns` columns.
pub fn row(columns: usize, row: usize) -> Vec<u32> {
    (0..columns).map(|c| (row * columns + c) as u32).collect()
}

/// Length of a chain of vertices on the surface.
pub fn length_on(mesh: &TriMesh, chain: &[u32]) -> f64 {
    let at = |v: u32| mesh.positions[v as usize];
    chain.windows(2).map(|e| at(e[0]).distance(at(e[1]))).sum()
}

/// Length of a chain of vertices in the plane.
pub fn length_in(points: &[DVec2], chain: &[u32]) -> f64 {
    let at = |v: u32| points[v as usize];
    chain.windows(2).map(|e| at(e[0]).distance(at(e[1]))).sum()
}
