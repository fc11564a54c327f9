//! Reading, reducing, cutting and offsetting a heel-like wall at several finenesses.

use std::f64::consts::PI;
use std::hint::black_box;
use std::io::{Cursor, Write as _};

use geometry::mesh::TriMesh;
use geometry::mesh::decimate::decimate;
use geometry::mesh::write::{write_obj, write_ply, write_stl_binary};
use geometry::read::read_mesh_bytes;
use geometry::surface::{
    Closest, Surface, SurfacePath, closed_path, imprint, offset, patch_left_of,
};
use glam::{DVec2, DVec3};

fn main() {
    divan::main();
}

/// Columns and rows for about 10, 50 and 200 thousand triangles.
const GRIDS: [(usize, usize); 3] = [(174, 29), (388, 65), (776, 129)];

/// The same for about 10 and 100 thousand, and for a million.
const TENS: [(usize, usize); 2] = [(174, 29), (549, 91)];
const MILLION: (usize, usize) = (1732, 289);

/// A bulging open wall, 300 mm along and 60 mm high, radius about 32 mm at its bend.
fn wall(columns: usize, rows: usize) -> TriMesh {
    let mut mesh = TriMesh::default();
    for j in 0..=rows {
        for i in 0..=columns {
            let (u, v) = (i as f64 / columns as f64, j as f64 / rows as f64);
            let angle = PI * (u - 0.5) * 1.1;
            let radius = 32.0 + 5.0 * (PI * v * 0.9).sin();
            let leg = (angle.abs() - PI / 2.0 * 0.9).max(0.0) * 300.0;
            let round = DVec3::new(-radius * angle.cos(), radius * angle.sin(), 60.0 * v);
            mesh.positions.push(round + DVec3::X * leg);
        }
    }
    let at = |i: usize, j: usize| (j * (columns + 1) + i) as u32;
    for j in 0..rows {
        for i in 0..columns {
            mesh.triangles.push([at(i, j), at(i, j + 1), at(i + 1, j)]);
            mesh.triangles.push([at(i + 1, j), at(i, j + 1), at(i + 1, j + 1)]);
        }
    }
    mesh
}

/// A closed line round the back of the wall, drawn through points a millimetre apart.
fn line(surface: &Surface<'_>) -> SurfacePath {
    let closest = Closest::new(surface.mesh);
    let corners: Vec<_> = (0..250)
        .map(|i| DVec2::from_angle(-f64::from(i) * 2.0 * PI / 250.0))
        .map(|p| {
            let angle = p.x * 1.2;
            let place = DVec3::new(-36.0 * angle.cos(), 36.0 * angle.sin(), 30.0 + 22.0 * p.y);
            closest.to(place, 1e-4).expect("the wall has triangles")
        })
        .collect();
    closed_path(surface, &corners, 0.02).expect("the wall has no hole")
}

#[divan::bench(args = GRIDS, sample_count = 5, sample_size = 1)]
fn read_stl(bencher: divan::Bencher, (columns, rows): (usize, usize)) {
    let mut bytes = Vec::new();
    write_stl_binary(&wall(columns, rows), &mut bytes).expect("memory holds it");
    bencher.bench_local(|| read_mesh_bytes("wall.stl", black_box(&bytes)).expect("a sound file"));
}

#[divan::bench(args = GRIDS, sample_count = 5, sample_size = 1)]
fn read_obj(bencher: divan::Bencher, (columns, rows): (usize, usize)) {
    let mut bytes = Vec::new();
    write_obj(&wall(columns, rows), &mut bytes).expect("memory holds it");
    bencher.bench_local(|| read_mesh_bytes("wall.obj", black_box(&bytes)).expect("a sound file"));
}

#[divan::bench(args = GRIDS, sample_count = 5, sample_size = 1)]
fn read_ply(bencher: divan::Bencher, (columns, rows): (usize, usize)) {
    let mut bytes = Vec::new();
    write_ply(&wall(columns, rows), &mut bytes).expect("memory holds it");
    bencher.bench_local(|| read_mesh_bytes("wall.ply", black_box(&bytes)).expect("a sound file"));
}

/// The wall as a 3MF.
fn threemf(mesh: &TriMesh) -> Vec<u8> {
    let vertices = mesh
        .positions
        .iter()
        .map(|p| format!("<vertex x=\"{:.6}\" y=\"{:.6}\" z=\"{:.6}\"/>\n", p.x, p.y, p.z));
    let triangles = mesh
        .triangles
        .iter()
        .map(|[a, b, c]| format!("<triangle v1=\"{a}\" v2=\"{b}\" v3=\"{c}\"/>\n"));
    let xml = format!(
        "<model unit=\"millimeter\" xmlns=\"http://schemas.microsoft.com/3dmanufacturing/core/2015/02\">\
         <resources><object id=\"1\"><mesh><vertices>{}</vertices><triangles>{}</triangles></mesh>\
         </object></resources><build><item objectid=\"1\"/></build></model>",
        vertices.collect::<String>(),
        triangles.collect::<String>()
    );
    let mut zip = zip::ZipWriter::new(Cursor::new(Vec::new()));
    let options = zip::write::SimpleFileOptions::default();
    zip.start_file("3D/3dmodel.model", options).expect("memory holds it");
    zip.write_all(xml.as_bytes()).expect("memory holds it");
    zip.finish().expect("memory holds it").into_inner()
}

fn bench_read_3mf(bencher: divan::Bencher, (columns, rows): (usize, usize)) {
    let bytes = threemf(&wall(columns, rows));
    bencher.bench_local(|| read_mesh_bytes("wall.3mf", black_box(&bytes)).expect("a sound file"));
}

fn bench_decimate(bencher: divan::Bencher, (columns, rows): (usize, usize)) {
    let mesh = wall(columns, rows);
    bencher.bench_local(|| decimate(black_box(&mesh), 0.05));
}

#[divan::bench(args = TENS, sample_count = 5, sample_size = 1)]
fn read_3mf(bencher: divan::Bencher, grid: (usize, usize)) {
    bench_read_3mf(bencher, grid);
}

#[divan::bench(args = [MILLION], sample_count = 1, sample_size = 1)]
fn read_3mf_million(bencher: divan::Bencher, grid: (usize, usize)) {
    bench_read_3mf(bencher, grid);
}

/// Reduces to within 0.05 mm.
#[divan::bench(args = TENS, sample_count = 5, sample_size = 1)]
fn reduce(bencher: divan::Bencher, grid: (usize, usize)) {
    bench_decimate(bencher, grid);
}

#[divan::bench(args = [MILLION], sample_count = 1, sample_size = 1)]
fn reduce_million(bencher: divan::Bencher, grid: (usize, usize)) {
    bench_decimate(bencher, grid);
}

/// Draws a line and cuts the piece inside it out of the wall.
#[divan::bench(args = GRIDS, sample_count = 5, sample_size = 1)]
fn cut(bencher: divan::Bencher, (columns, rows): (usize, usize)) {
    let mesh = wall(columns, rows);
    bencher.bench_local(|| {
        let surface = Surface::new(black_box(&mesh)).expect("a manifold");
        let path = line(&surface);
        patch_left_of(&imprint(&surface, &[path]).expect("cut")).expect("enclosed")
    });
}

#[divan::bench(args = GRIDS, sample_count = 5, sample_size = 1)]
fn move_outward(bencher: divan::Bencher, (columns, rows): (usize, usize)) {
    let mesh = wall(columns, rows);
    bencher.bench_local(|| offset(black_box(&mesh), 1.6, 5.0));
}
