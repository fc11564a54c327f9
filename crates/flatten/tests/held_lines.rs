//! Lines whose length is held, on the heel band.

mod surfaces;

use flatten::{FlattenError, Flattening, HeldLine, Hold, Options, flatten};
use surfaces::{heel_band, length_in, length_on, row};

const COLUMNS: usize = 161;
const ROWS: usize = 27;

fn with(held: Vec<HeldLine>) -> Flattening {
    let options = Options { held, ..Options::default() };
    let flat = flatten(&heel_band(COLUMNS, ROWS), &options).expect("the band is a disk");
    assert!(flat.converged);
    assert_eq!((flat.flipped, flat.overlaps), (0, 0));
    flat
}

fn line(at: usize, hold: Hold) -> HeldLine {
    HeldLine { vertices: row(COLUMNS, at), hold, share: 1.0, stiffness: 1e5, bending: 0.0 }
}

/// How much longer row `at` is in the plane, mm.
fn growth(flat: &Flattening, at: usize) -> f64 {
    let chain = row(COLUMNS, at);
    length_in(&flat.points, &chain) - length_on(&heel_band(COLUMNS, ROWS), &chain)
}

/// 0.1 mm in 200 mm.
fn allowed(at: usize) -> f64 {
    0.1 * length_on(&heel_band(COLUMNS, ROWS), &row(COLUMNS, at)) / 200.0
}

#[test]
fn kept_edges_keep_their_length() {
    let free = with(Vec::new());
    for at in [0, ROWS / 2, ROWS - 1] {
        let held = with(vec![line(at, Hold::Keep)]);
        assert!(growth(&free, at).abs() > 3.0 * allowed(at), "nothing to hold");
        assert!(growth(&held, at).abs() < allowed(at));
        assert!(held.energy > free.energy);
        assert!(held.held[0].zigzag < 0.1 && held.iterations <= 20);
    }
}

#[test]
fn an_edge_that_may_not_grow_does_not_and_may_shrink() {
    let top = ROWS - 1;
    let free = with(Vec::new());
    let held = with(vec![line(0, Hold::NotLonger), line(top, Hold::NotLonger)]);
    assert!(growth(&free, top) > 3.0 * allowed(top));
    assert!(held.held.iter().all(|line| line.zigzag < 0.1) && held.iterations <= 20);
    for at in [0, top] {
        assert!(growth(&held, at) < allowed(at));
    }
}

#[test]
fn a_line_that_shrinks_by_itself_is_left_alone() {
    let free = with(Vec::new());
    let middle = ROWS / 2;
    assert!(growth(&free, middle) < 0.0);
    let held = with(vec![HeldLine { stiffness: 1.0, ..line(middle, Hold::NotLonger) }]);
    assert!((growth(&held, middle) - growth(&free, middle)).abs() < 0.01);
}

#[test]
fn a_kept_feather_edge_and_a_top_that_may_not_grow_hold_together() {
    let top = ROWS - 1;
    let held = with(vec![line(0, Hold::Keep), line(top, Hold::NotLonger)]);
    assert!(growth(&held, 0).abs() < allowed(0) && growth(&held, top) < allowed(top));
    assert!(held.held.iter().all(|line| line.zigzag < 0.1) && held.iterations <= 20);
}

/// Both edges and the middle cannot keep their lengths on a bulge. The lengths hold all the
/// same, but the middle, pressed together, goes into zigzag, and the result says so.
#[test]
fn too_much_held_is_reported_as_zigzag() {
    let (middle, top) = (ROWS / 2, ROWS - 1);
    let held =
        with(vec![line(0, Hold::Keep), line(middle, Hold::Keep), line(top, Hold::NotLonger)]);
    for at in [0, middle] {
        assert!(growth(&held, at).abs() < allowed(at));
    }
    assert!(growth(&held, top) < allowed(top));
    assert!(held.held[0].zigzag < 0.1 && held.held[2].zigzag < 0.1);
    assert!(held.held[1].zigzag > 2.0);
}

/// The column up the middle of the band gets pressed together where both edges are held. Stiff
/// against bending it keeps its length by lying straight.
#[test]
fn a_stiff_line_keeps_its_length_without_zigzag() {
    let top = ROWS - 1;
    let column: Vec<u32> = (0..ROWS).map(|j| (j * COLUMNS + COLUMNS / 2) as u32).collect();
    let edges = || vec![line(0, Hold::Keep), line(top, Hold::NotLonger)];
    let grown = |flat: &Flattening| {
        length_in(&flat.points, &column) - length_on(&heel_band(COLUMNS, ROWS), &column)
    };
    assert!(grown(&with(edges())) < -0.2, "nothing presses on the column");
    let stiff = HeldLine {
        vertices: column.clone(),
        hold: Hold::Keep,
        share: 1.0,
        stiffness: 1e5,
        bending: 200.0,
    };
    let held = with(edges().into_iter().chain([stiff]).collect());
    assert!(grown(&held).abs() < 0.02, "{}", grown(&held));
    assert!(held.held[2].zigzag < 0.02, "{}", held.held[2].zigzag);
    assert!(held.iterations <= 30, "{}", held.iterations);
}

#[test]
fn a_line_off_the_edges_or_without_force_is_refused() {
    let mesh = heel_band(9, 4);
    let ask = |vertices: Vec<u32>, stiffness: f64| {
        let held =
            vec![HeldLine { vertices, hold: Hold::Keep, share: 1.0, stiffness, bending: 0.0 }];
        flatten(&mesh, &Options { held, ..Options::default() }).unwrap_err()
    };
    assert_eq!(ask(vec![0, 1, 5], 1e3), FlattenError::HeldOffEdges { line: 0, from: 1, to: 5 });
    assert_eq!(ask(vec![0, 400], 1e3), FlattenError::HeldOffEdges { line: 0, from: 0, to: 400 });
    assert_eq!(ask(vec![3, 3], 1e3), FlattenError::HeldOffEdges { line: 0, from: 3, to: 3 });
    assert!(matches!(ask(vec![0, 1], -1.0), FlattenError::HeldStiffness { line: 0, .. }));
    assert!(matches!(ask(vec![0, 1], f64::NAN), FlattenError::HeldStiffness { line: 0, .. }));
}

#[test]
fn the_lengths_reported_are_those_of_the_lines() {
    let held = with(vec![line(0, Hold::Keep)]);
    let (chain, mesh) = (row(COLUMNS, 0), heel_band(COLUMNS, ROWS));
    assert!((held.held[0].on_surface - length_on(&mesh, &chain)).abs() < 1e-9);
    assert!((held.held[0].flat - length_in(&held.points, &chain)).abs() < 1e-9);
}
