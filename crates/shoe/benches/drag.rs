//! One drag of a mark, from where it now is to the new outline, against laying a wall of the same
//! triangles flat from scratch.
//!
//! Outside ankle, inside joint and heel breast, where short wings end, are dragged along by 0.4 mm
//! at a time. Times are medians
//! taken by turns in this one run; the ratio holds on a machine whose own speed is not known.

#![allow(clippy::print_stdout, reason = "the result is what it prints")]

use std::hint::black_box;
use std::time::Instant;

use geometry::surface::Surface;
use shoe::draft::draft;
use shoe::foot::Foot;
use shoe::job::Job;
use shoe::last::build::{LastMeasures, build_last};
use shoe::stiffener::chart::Chart;
use shoe::stiffener::edge::TopEdge;
use shoe::stiffener::{Ground, Moving, Stiffener, piece, wall};

/// How often each is timed.
const ROUNDS: usize = 15;

/// The parts of the way, in their order.
const PARTS: [&str; 5] = ["top edge", "triangles", "laid flat", "margin and nicks", "outline"];

/// Invented lasts and the wings of their stiffeners: about 5 and 10 thousand triangles.
const PIECES: [(&str, f64, &str); 2] =
    [("short wings, EU 43", 43.0, "short"), ("long wings, EU 45", 45.0, "long")];

fn main() {
    // Tried as a test, once is enough; it says so.
    let rounds = if std::env::args().any(|word| word == "--bench") { ROUNDS } else { 1 };
    for (name, eu, wings) in PIECES {
        drag(name, eu, wings, rounds);
    }
}

fn drag(name: &str, eu: f64, wings: &str, rounds: usize) {
    let text = format!(
        "schema = 1\nname = \"drag\"\n[last]\nfile = \"last.stl\"\nsize = \"EU {eu}\"\nunit = \"mm\"\nfoot = \"right\"\nheel_height = 25\n[stiffener]\nmedial = {{ length = \"{wings}\" }}\nlateral = {{ length = \"{wings}\" }}\n"
    );
    let job = Job::from_toml(&text, "job.toml").expect("a sound job");
    let mut measures = LastMeasures::for_size(eu * 20.0 / 3.0, Foot::Right);
    measures.heel_height = 25.0;
    let scan = build_last(&measures).expect("ordinary measures").mesh;
    let drafted = draft(&job, &scan).expect("an ordinary last").value;
    let (last, before) = (&drafted.last, &drafted.stiffener);
    let surface = Surface::new(&last.mesh).expect("a manifold");
    let chart = Chart::new(&surface, &last.marks.feather_line.points, last.foot).expect("a line");
    let brief = job.brief();

    let begun = Instant::now();
    let ground =
        Ground::about(&chart, &before.edge, brief.neutral_offset()).expect("room about it");
    let mut moving =
        Moving::begin(&chart, &ground, &before.edge, &before.wall).expect("it lies there");
    let once = begun.elapsed();

    let (mut parts, mut cold) = (vec![Vec::new(); PARTS.len()], Vec::new());
    let mut whole = Vec::new();
    let mut landmarks = before.landmarks;
    for _ in 0..rounds {
        landmarks.ankle.1 += 0.4;
        landmarks.joint.0 -= 0.4;
        landmarks.breast += 0.4;
        let mut clock = Instant::now();
        let begun = clock;
        let mut lap = |part: usize| {
            parts[part].push(clock.elapsed().as_secs_f64());
            clock = Instant::now();
        };
        let edge = TopEdge::design(&chart, &brief, &landmarks).expect("an edge");
        lap(0);
        moving.place(&edge).expect("near enough");
        lap(1);
        let wall = moving.lay_flat().expect("it lies flat");
        lap(2);
        let moved = Stiffener::about(last.foot, &brief, &landmarks, (false, false), edge, wall);
        let moved = moved.expect("room for the nicks");
        lap(3);
        black_box(piece::outline(&moved));
        lap(4);
        whole.push(begun.elapsed().as_secs_f64());

        let begun = Instant::now();
        black_box(wall::lay_flat(&moved.wall).expect("it lies flat"));
        cold.push(begun.elapsed().as_secs_f64());
    }
    let (whole, cold) = (median(whole), median(cold));
    println!(
        "{name}: {} triangles, ready to be dragged after {:.2} s",
        before.wall.on_last.triangles.len(),
        once.as_secs_f64()
    );
    for (part, times) in PARTS.iter().zip(parts) {
        println!("  {part:<18} {:7.2} ms", 1e3 * median(times));
    }
    println!("  {:<18} {:7.2} ms", "moved mark to outline", 1e3 * whole);
    println!("  {:<18} {:7.2} ms", "laid flat afresh", 1e3 * cold);
    println!("  ratio {:.2} (bar 0.50)", whole / cold);
}

fn median(mut values: Vec<f64>) -> f64 {
    values.sort_by(f64::total_cmp);
    values[values.len() / 2]
}
