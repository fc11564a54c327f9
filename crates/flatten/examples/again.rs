//! Times laying a surface flat from scratch against laying it flat again after its edge moved.
//!
//! `again MESH [ROUNDS]` prints medians in seconds as JSON: `first` (prepared and laid flat),
//! `again` (moved and laid flat from the last layout), `ratio`, and how far `again` lies from a
//! layout from scratch, mm.

#![allow(clippy::print_stdout, reason = "the result is what it prints")]

use std::path::Path;
use std::time::Instant;

use flatten::{Flattener, Options};
use geometry::mesh::TriMesh;
use glam::{DVec2, DVec3};

fn main() {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let [path, rest @ ..] = arguments.as_slice() else {
        eprintln!("say which mesh: again MESH [ROUNDS]");
        std::process::exit(2);
    };
    let rounds = rest.first().and_then(|r| r.parse().ok()).unwrap_or(7);
    let mesh = match geometry::read::read_mesh(Path::new(path)) {
        Ok(read) => read.value.mesh,
        Err(error) => {
            eprintln!("{error}");
            std::process::exit(1);
        }
    };
    let (mut first, mut again, mut apart) = (Vec::new(), Vec::new(), 0.0f64);
    for round in 0..rounds {
        let begun = Instant::now();
        let mut flattener = Flattener::new(&mesh, &Options::default()).expect("a disk");
        flattener.flatten().expect("it lies flat");
        first.push(begun.elapsed().as_secs_f64());

        let moved = edge_moved(&mesh, 1.0 + 0.1 * f64::from(round));
        let begun = Instant::now();
        let warm = flattener.flatten_moved(&moved.positions).expect("it still lies flat");
        again.push(begun.elapsed().as_secs_f64());

        let cold = flatten::flatten(&moved, &Options::default()).expect("it still lies flat");
        apart = apart.max(furthest(&warm.points, &cold.points));
    }
    let [first, again] = [first, again].map(median);
    let (triangles, ratio) = (mesh.triangles.len(), again / first);
    println!(
        "{{\"triangles\": {triangles}, \"first\": {first}, \"again\": {again}, \
         \"ratio\": {ratio}, \"apart_mm\": {apart}}}"
    );
}

/// The surface with its upper edge moved along itself by up to `by` mm over 60 mm, fading out
/// downward, as when a point of the edge is dragged.
fn edge_moved(mesh: &TriMesh, by: f64) -> TriMesh {
    let (low, high) = mesh.bounds().expect("it has vertices");
    let middle = (low + high) / 2.0;
    let mut moved = mesh.clone();
    for p in &mut moved.positions {
        let up = (p.z - low.z) / (high.z - low.z);
        let beside = (p.y - middle.y) / 30.0;
        *p += DVec3::Z * (by * up * up * (-beside * beside).exp());
    }
    moved
}

fn median(mut values: Vec<f64>) -> f64 {
    values.sort_by(f64::total_cmp);
    values[values.len() / 2]
}

/// The largest difference of distances from the first vertex and from the last, mm.
fn furthest(a: &[DVec2], b: &[DVec2]) -> f64 {
    let from = |points: &[DVec2], v: usize, i: usize| points[v].distance(points[i]);
    let ends = [0, a.len() - 1];
    let differ = |i| ends.map(|v| (from(a, v, i) - from(b, v, i)).abs());
    (0..a.len()).flat_map(differ).fold(0.0, f64::max)
}
