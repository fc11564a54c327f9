//! Random curves cut out of surfaces: nothing is lost, and the pieces are what topology says.
//!
//! A hundred curves are part of the tests. `FEATHERLINE_CURVES=1000 cargo test --release
//! -p featherline-geometry --test cutting_apart -- --nocapture` tries as many as told and prints
//! what was found; `make curves` does that.

#![allow(clippy::unwrap_used, reason = "a test may fail so")]

mod shapes;

use std::cell::RefCell;
use std::collections::{BTreeMap, BTreeSet};
use std::f64::consts::TAU;

use geometry::mesh::TriMesh;
use geometry::mesh::adjacency::Side;
use geometry::surface::geodesic::{shortest, straightest};
use geometry::surface::{
    Closest, Cut, CutError, Surface, SurfacePath, SurfacePoint, curve_through, cut_along, open_path,
};
use glam::{DVec2, DVec3};
use proptest::prelude::*;
use proptest::test_runner::{Config, RngAlgorithm, TestRng, TestRunner};

/// A bumpy sheet with a rim, uneven triangles: 60 by 40 mm.
fn sheet() -> TriMesh {
    let mut mesh = shapes::sheet(60, 40);
    for p in &mut mesh.positions {
        let inner = p.x > 0.0 && p.x < 60.0 && p.y > 0.0 && p.y < 40.0;
        if inner {
            p.x += 0.3 * (7.0 * p.y + 3.0 * p.x).sin();
            p.y += 0.3 * (5.0 * p.x - 2.0 * p.y).cos();
        }
        p.z = 6.0 * (p.x / 9.0).sin() * (p.y / 7.0).cos();
    }
    mesh
}

/// A tube open at both ends, waisted, 25 mm in radius and 60 high.
fn tube() -> TriMesh {
    let (around, up) = (70_u32, 30_u32);
    let at = |i: u32, j: u32| j * around + i % around;
    let mut mesh = TriMesh::default();
    for j in 0..=up {
        for i in 0..around {
            let shift = 0.4 * f64::from(j % 2) + 0.1 * f64::from(j * 7 % 3);
            let angle = (f64::from(i) + shift) * TAU / f64::from(around);
            let z = 60.0 * (f64::from(j) / f64::from(up)).powf(1.15);
            let radius = 25.0 - 6.0 * (z / 60.0 * TAU / 2.0).sin();
            mesh.positions.push((DVec2::from_angle(angle) * radius).extend(z));
        }
    }
    for (i, j) in (0..up).flat_map(|j| (0..around).map(move |i| (i, j))) {
        mesh.triangles.push([at(i, j), at(i + 1, j), at(i, j + 1)]);
        mesh.triangles.push([at(i + 1, j), at(i + 1, j + 1), at(i, j + 1)]);
    }
    mesh
}

/// A closed ball of 30 mm radius.
fn ball() -> TriMesh {
    shapes::ball(30.0, 5)
}

/// A surface with what curves are drawn by.
struct Ground<'m> {
    surface: Surface<'m>,
    closest: Closest<'m>,
    rim: Vec<[u32; 2]>,
    connected_rim: bool,
}

impl<'m> Ground<'m> {
    fn new(mesh: &'m TriMesh) -> Self {
        let surface = Surface::new(mesh).expect("a manifold");
        let mut rim = Vec::new();
        for face in 0..mesh.triangles.len() as u32 {
            for k in 0..3_u8 {
                if surface.adjacency().across(Side { face, k }).is_none() {
                    let t = mesh.triangles[face as usize];
                    rim.push([t[k as usize], t[(k as usize + 1) % 3]]);
                }
            }
        }
        let connected_rim = surface.adjacency().boundary_loops(mesh).len() <= 1;
        Self { closest: Closest::new(mesh), surface, rim, connected_rim }
    }

    fn mesh(&self) -> &'m TriMesh {
        self.surface.mesh
    }

    /// Any point: now and then a vertex, or on an edge.
    fn point(&self, at: [f64; 3]) -> SurfacePoint {
        let count = self.mesh().triangles.len() as f64;
        let face = (at[0] * count) as u32;
        let (a, b) = (at[1], at[2] * (1.0 - at[1]));
        let snap = if (at[0] * count).fract() < 0.3 { 0.25 } else { 1e-9 };
        SurfacePoint::in_face(self.mesh(), face, [a, b, 1.0 - a - b], snap)
    }

    /// A point of the rim, or any on a closed surface.
    fn on_rim(&self, at: [f64; 3]) -> SurfacePoint {
        if self.rim.is_empty() {
            return self.point(at);
        }
        let [a, b] = self.rim[(at[0] * self.rim.len() as f64) as usize];
        SurfacePoint::on_edge(a, b, at[1], 0.2)
    }

    /// A ring of points round a middle, out to `radius` mm.
    fn ring(
        &self,
        middle: SurfacePoint,
        radius: f64,
        values: &[f64],
        n: usize,
    ) -> Vec<SurfacePoint> {
        let normal = self.surface.normal(&middle);
        let (u, v) = normal.any_orthonormal_pair();
        let middle = middle.position(self.mesh());
        (0..n)
            .map(|i| {
                let turn = DVec2::from_angle(TAU * i as f64 / n as f64);
                let far = radius * (0.6 + 0.4 * values[i % values.len()]);
                let place: DVec3 = middle + (u * turn.x + v * turn.y) * far;
                self.closest.to(place, 1e-12).expect("there are triangles")
            })
            .collect()
    }

    fn curve(&self, points: &[SurfacePoint], closed: bool) -> Option<SurfacePath> {
        curve_through(&self.surface, points, closed).ok().map(|curve| curve.path)
    }

    /// The curves of a recipe; `None` where it makes none.
    fn curves(&self, kind: usize, values: &[f64]) -> Option<Vec<SurfacePath>> {
        let three = |i: usize| [0, 1, 2].map(|k| values[(3 * i + k) % values.len()]);
        let any: Vec<SurfacePoint> = (0..4).map(|i| self.point(three(i))).collect();
        let (from, to) = (self.on_rim(three(4)), self.on_rim(three(5)));
        let radius = 2.0 + 9.0 * values[20];
        let n = 4 + (values[21] * 8.0) as usize;
        Some(match kind {
            // Round a place.
            0 => vec![self.curve(&self.ring(any[0], radius, values, n), true)?],
            // From rim to rim.
            1 => vec![self.curve(&[from, any[0], to], false)?],
            // Anywhere and through itself.
            2 => vec![self.curve(&any, true)?],
            // Ending inside.
            3 => vec![self.curve(&any, false)?],
            // Several, which cross.
            4 => vec![
                self.curve(&[from, any[0], to], false)?,
                self.curve(&self.ring(any[0], radius, values, n), true)?,
                self.curve(&any, false)?,
            ],
            // Along edges, from vertex to vertex.
            5 => vec![self.along_edges(values)],
            // Shorter than any triangle.
            6 => {
                let small = 10f64.powf(-4.0 + 3.5 * values[20]);
                let ring = self.ring(any[0], small, values, n);
                vec![geometry::surface::closed_path(&self.surface, &ring, 0.0).ok()?]
            }
            // Shortest and straightest, which share a piece of their way or cross.
            _ => {
                let way = shortest(&self.surface, from, any[1]).ok()?.path;
                let direction = any[2].position(self.mesh()) - any[0].position(self.mesh());
                let straight = straightest(&self.surface, any[0], direction, 5.0 + radius);
                let mut ways = vec![way, shortest(&self.surface, any[1], to).ok()?.path];
                ways.extend(straight.map(|s| s.path));
                ways.push(open_path(&self.surface, &self.ring(any[1], 1.5, values, n), 0.0).ok()?);
                ways
            }
        })
    }

    fn along_edges(&self, values: &[f64]) -> SurfacePath {
        let mut at = self.mesh().triangles[(values[0] * 400.0) as usize][0];
        let mut points = vec![SurfacePoint::Vertex(at)];
        for value in values.iter().cycle().take(40) {
            let faces = self.surface.faces_around(at);
            let t = self.mesh().triangles[faces[(value * faces.len() as f64) as usize] as usize];
            let next = t[(t.iter().position(|v| *v == at).expect("a corner") + 1) % 3];
            points.push(SurfacePoint::Vertex(next));
            at = next;
        }
        SurfacePath { points, closed: false }
    }
}

/// The edges of cut and rim, each once, and the number of their connected parts.
fn graph(ground: &Ground<'_>, cut: &Cut, paths: &[SurfacePath]) -> (BTreeSet<[u32; 2]>, usize) {
    let mut edges: BTreeSet<[u32; 2]> = BTreeSet::new();
    for (chain, path) in cut.imprinted.paths.iter().zip(paths) {
        let back = path.closed.then(|| chain[0]);
        let next = chain.iter().copied().skip(1).chain(back);
        edges.extend(chain.iter().zip(next).map(|(a, b)| [*a.min(&b), *a.max(&b)]));
    }
    let imprinted = Ground::new(&cut.imprinted.mesh);
    edges.extend(imprinted.rim.iter().map(|[a, b]| [*a.min(b), *a.max(b)]));
    assert_eq!(ground.rim.is_empty(), imprinted.rim.is_empty());
    let mut part: BTreeMap<u32, u32> = edges.iter().flatten().map(|v| (*v, *v)).collect();
    loop {
        let mut changed = false;
        for [a, b] in &edges {
            let least = part[a].min(part[b]);
            changed |= part[a] != least || part[b] != least;
            part.insert(*a, least);
            part.insert(*b, least);
        }
        if !changed {
            break;
        }
    }
    let parts = part.values().collect::<BTreeSet<_>>().len();
    (edges, parts)
}

#[derive(Debug, Default)]
struct Tally {
    curves: usize,
    worst_area: f64,
    worst_length: f64,
    pieces: usize,
    disks: usize,
    none: usize,
}

fn check(
    ground: &Ground<'_>,
    paths: &[SurfacePath],
    tally: &RefCell<Tally>,
) -> Result<(), TestCaseError> {
    let mesh = ground.mesh();
    let cut = cut_along(&ground.surface, paths).map_err(|e| TestCaseError::fail(e.to_string()))?;
    let whole: f64 = mesh.face_areas().iter().sum();
    let sum: f64 = cut.pieces.iter().map(|piece| piece.area()).sum();
    let lost = (sum / whole - 1.0).abs();
    prop_assert!(lost < 1e-9, "areas sum to {sum}, the whole has {whole}");

    // Every edge of the cut is on the edge of pieces twice, every edge of the rim once.
    let (edges, parts) = graph(ground, &cut, paths);
    let fine = &cut.imprinted.mesh;
    let rim: BTreeSet<[u32; 2]> =
        Ground::new(fine).rim.iter().map(|[a, b]| [*a.min(b), *a.max(b)]).collect();
    let length =
        |[a, b]: &[u32; 2]| fine.positions[*a as usize].distance(fine.positions[*b as usize]);
    let expected: f64 =
        edges.iter().map(|e| length(e) * if rim.contains(e) { 1.0 } else { 2.0 }).sum();
    let found: f64 = cut.pieces.iter().flat_map(|piece| piece.loop_lengths()).sum();
    let apart = (found / expected - 1.0).abs();
    prop_assert!(apart < 1e-9, "loops {found} mm long, cuts and rim {expected}");

    // Euler: surface = pieces + the graph of cuts and rim.
    let vertices = edges.iter().flatten().collect::<BTreeSet<_>>().len() as i64;
    let of_surface = {
        let v = mesh.triangles.iter().flatten().collect::<BTreeSet<_>>().len();
        let e = (3 * mesh.triangles.len() + ground.rim.len()) / 2;
        v as i64 - e as i64 + mesh.triangles.len() as i64
    };
    let of_pieces: i64 = cut.pieces.iter().map(|piece| piece.euler()).sum();
    prop_assert_eq!(of_pieces, of_surface - (vertices - edges.len() as i64));
    // Where all cuts hang together with all of the rim, nothing but disks is left: no handles here.
    let disks = cut.pieces.iter().filter(|piece| piece.is_disk()).count();
    if parts == 1 {
        prop_assert_eq!(disks, cut.pieces.len(), "every piece can be a disk");
    }
    for piece in &cut.pieces {
        prop_assert!(piece.mesh.triangles.len() == piece.faces.len());
        prop_assert!(piece.area() > 0.0);
    }
    let mut tally = tally.borrow_mut();
    tally.curves += paths.len();
    tally.worst_area = tally.worst_area.max(lost);
    tally.worst_length = tally.worst_length.max(apart);
    tally.pieces += cut.pieces.len();
    tally.disks += disks;
    Ok(())
}

#[test]
#[allow(clippy::print_stdout, reason = "the long form is run for what it prints")]
fn whatever_is_drawn_is_cut_without_loss() {
    let wanted = std::env::var("FEATHERLINE_CURVES").ok().and_then(|n| n.parse().ok());
    let wanted = wanted.unwrap_or(100_usize);
    let meshes = [sheet(), tube(), ball()];
    let grounds: Vec<Ground<'_>> = meshes.iter().map(Ground::new).collect();
    assert_eq!(grounds.iter().map(|g| g.connected_rim).collect::<Vec<_>>(), [true, false, true]);
    let tally = RefCell::new(Tally::default());
    let recipe = (0..3_usize, 0..8_usize, proptest::collection::vec(0.0..1.0f64, 24));
    // The same curves each time; a case draws one or several.
    let rng = TestRng::deterministic_rng(RngAlgorithm::ChaCha);
    let config =
        Config { failure_persistence: None, ..Config::with_cases(wanted.try_into().expect("few")) };
    let outcome = TestRunner::new_with_rng(config, rng).run(&recipe, |(which, kind, values)| {
        if tally.borrow().curves >= wanted {
            return Ok(());
        }
        let ground = &grounds[which];
        match ground.curves(kind, &values) {
            Some(paths) => check(ground, &paths, &tally),
            None => {
                tally.borrow_mut().none += 1;
                Ok(())
            }
        }
    });
    if let Err(error) = outcome {
        panic!("{error}");
    }
    let tally = tally.into_inner();
    assert!(tally.curves >= wanted, "{tally:?}");
    assert!(tally.none * 20 < tally.curves, "too few recipes make curves: {tally:?}");
    println!("{tally:?}");
}

fn vertices(list: &[u32]) -> Vec<SurfacePoint> {
    list.iter().map(|v| SurfacePoint::Vertex(*v)).collect()
}

/// Two diagonals of a sheet of 2 by 2 squares, crossing at its middle vertex and in a triangle.
#[test]
fn crossing_lines_part_the_sheet_into_four() {
    let mesh = shapes::sheet(2, 2);
    let surface = Surface::new(&mesh).expect("a manifold");
    let along = SurfacePath { points: vertices(&[0, 4, 8]), closed: false };
    let across = SurfacePath {
        points: [vertices(&[2]), vec![SurfacePoint::on_edge(1, 5, 0.5, 0.0)], vertices(&[4])]
            .concat()
            .into_iter()
            .chain([SurfacePoint::on_edge(3, 7, 0.5, 0.0)])
            .chain(vertices(&[6]))
            .collect(),
        closed: false,
    };
    let cut = cut_along(&surface, &[along, across]).expect("cut");
    assert_eq!(cut.pieces.len(), 4);
    for piece in &cut.pieces {
        assert!(piece.is_disk());
        assert!((piece.area() - 1.0).abs() < 1e-12, "{}", piece.area());
    }
}

/// A line that stops inside opens a slit: one piece, whose edge runs down the slit and back.
#[test]
fn a_slit_leaves_one_disk_with_a_longer_edge() {
    let mesh = shapes::sheet(4, 4);
    let surface = Surface::new(&mesh).expect("a manifold");
    let slit = SurfacePath { points: vertices(&[2, 7, 12]), closed: false };
    let cut = cut_along(&surface, &[slit]).expect("cut");
    assert_eq!(cut.pieces.len(), 1);
    assert!(cut.pieces[0].is_disk());
    assert!((cut.pieces[0].loop_lengths()[0] - (16.0 + 4.0)).abs() < 1e-12);
    assert_eq!(cut.pieces[0].mesh.positions.len(), 25 + 2);
}

/// A closed line round a tube leaves two rings; one more line opens each to a disk.
#[test]
fn a_ring_stays_a_ring_until_it_is_opened() {
    let mesh = tube();
    let surface = Surface::new(&mesh).expect("a manifold");
    let round = SurfacePath { points: vertices(&(700..770).collect::<Vec<_>>()), closed: true };
    let cut = cut_along(&surface, std::slice::from_ref(&round)).expect("cut");
    assert_eq!(cut.pieces.iter().map(|p| p.euler()).collect::<Vec<_>>(), [0, 0]);
    assert!(cut.pieces.iter().all(|p| p.loops.len() == 2 && !p.is_disk()));
    let up = shortest(&surface, SurfacePoint::Vertex(3), SurfacePoint::Vertex(30 * 70 + 3));
    let cut = cut_along(&surface, &[round, up.expect("joined").path]).expect("cut");
    assert_eq!(cut.pieces.len(), 2);
    assert!(cut.pieces.iter().all(|p| p.is_disk()));
}

#[test]
fn what_is_no_line_is_refused_with_its_place() {
    let mesh = shapes::sheet(4, 4);
    let surface = Surface::new(&mesh).expect("a manifold");
    let dot = SurfacePath { points: vertices(&[7, 7]), closed: false };
    let error = cut_along(&surface, &[dot]).expect_err("no length");
    assert_eq!(error, CutError::TooShort { path: 0, points: 1, least: 2 });
    let leap = SurfacePath { points: vertices(&[0, 24]), closed: false };
    let error = cut_along(&surface, &[leap]).expect_err("no common triangle").to_string();
    assert!(error.contains("points 0 and 1 of the path share no triangle"), "{error}");
}
