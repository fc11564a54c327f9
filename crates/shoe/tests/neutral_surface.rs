//! The neutral surface of stiffeners on built lasts: at its distance, without crossings.

#![allow(clippy::unwrap_used, reason = "a test may fail so")]

use geometry::mesh::TriMesh;
use geometry::mesh::crossed::crossed;
use geometry::surface::{Closest, offset};
use shoe::draft::draft;
use shoe::foot::Foot;
use shoe::job::Job;
use shoe::last::build::{LastMeasures, build_last};
use shoe::stiffener::wall::Wall;

fn wall(edge_radius: f64) -> Wall {
    let mut measures = LastMeasures::for_size(38.0 * 20.0 / 3.0, Foot::Right);
    measures.heel_height = 25.0;
    measures.edge_radius = edge_radius;
    measures.resolution = 2.5;
    let last = build_last(&measures).unwrap().mesh;
    let text = "schema = 1\nname = \"test\"\n[last]\nfile = \"last.stl\"\nsize = \"EU 38\"\nunit = \"mm\"\nfoot = \"right\"\nheel_height = 25\n";
    draft(&Job::from_toml(text, "job.toml").unwrap(), &last).unwrap().value.stiffener.wall
}

/// How far each vertex is from a surface, mm: the least and the most.
fn far(from: &TriMesh, to: &TriMesh) -> [f64; 2] {
    let closest = Closest::new(to);
    let far = |p: &glam::DVec3| closest.to(*p, 0.0).unwrap().position(to).distance(*p);
    let all = || from.positions.iter().map(far);
    [all().fold(f64::INFINITY, f64::min), all().fold(0.0, f64::max)]
}

#[test]
fn the_wall_of_a_last_is_moved_to_its_distance_without_crossing() {
    for radius in [0.0, 2.0, 4.0] {
        let wall = wall(radius);
        let [least, most] = far(&wall.neutral, &wall.on_last);
        assert!(least > 1.0 && most - least < 0.02, "edge {radius}: {least} to {most}");
        assert_eq!(crossed(&wall.neutral), None, "edge {radius}");
        for distance in [1.0, 2.5, -2.5] {
            let moved = offset(&wall.on_last, distance, 5.0).value;
            let [least, most] = far(&moved.mesh, &wall.on_last);
            let label = format!("edge {radius}, {distance} mm");
            assert!(moved.folded.is_empty() && crossed(&moved.mesh).is_none(), "{label}");
            let size = distance.abs();
            assert!(least > size - 0.02 && most < size + 0.02, "{label}: {least} to {most}");
        }
    }
}
