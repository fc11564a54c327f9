//! V's and slits of the lasting margin: as many as the lengths need, and no more.

use std::sync::OnceLock;

use geometry::mesh::TriMesh;
use shoe::draft::draft;
use shoe::foot::Foot;
use shoe::job::Job;
use shoe::last::build::{LastMeasures, build_last};
use shoe::stiffener::margin::Margin;

/// Openings a V may have at most, mm, and the lengths that ease in or stretch, per mm.
const CLASSES: [f64; 4] = [7.0, 9.0, 11.0, 13.0];
const EASES: f64 = 0.06;

/// Lengths fit when they differ by no more than this, mm.
const FITS: f64 = 0.5;

fn last(eu: f64, foot: Foot) -> TriMesh {
    let mut measures = LastMeasures::for_size(eu * 20.0 / 3.0, foot);
    measures.heel_height = 25.0;
    build_last(&measures).expect("ordinary measures").mesh
}

fn margin(eu: f64, foot: Foot, rest: &str, last: &TriMesh) -> Margin {
    let text = format!(
        "schema = 1\nname = \"test\"\n[last]\nfile = \"last.stl\"\nsize = \"EU {eu}\"\nunit = \"mm\"\nfoot = \"{foot}\"\nheel_height = 25\n[stiffener]\n{rest}"
    );
    let job = Job::from_toml(&text, "job.toml").expect("a sound job");
    draft(&job, last).expect("an ordinary last").value.stiffener.margin
}

/// The margins of two sizes in three widths, drafted once.
fn margins() -> &'static [Margin] {
    static MARGINS: OnceLock<Vec<Margin>> = OnceLock::new();
    MARGINS.get_or_init(|| {
        let of = |(eu, foot)| {
            let last = last(eu, foot);
            ["", "margin = 12\n", "margin = 18\n"].map(|rest| margin(eu, foot, rest, &last))
        };
        [(36.0, Foot::Left), (42.0, Foot::Right)].into_iter().flat_map(of).collect()
    })
}

/// Length of the flat edge beyond its place under the insole, from point i to the next, mm.
fn excess(margin: &Margin, i: usize) -> f64 {
    let between = |along: &[f64]| along[i + 1] - along[i];
    between(&margin.outer_along) - between(&margin.under_along)
}

/// What does not fit from the seat to one side, as far as it is more than eases in, mm.
fn beyond(margin: &Margin, to_right: bool) -> f64 {
    let right: Vec<usize> = (margin.seat..margin.outer.len() - 1).collect();
    let left: Vec<usize> = (0..margin.seat).rev().collect();
    let steps = if to_right { right } else { left };
    steps.into_iter().map(|i| excess(margin, i)).take_while(|e| *e > EASES).sum()
}

#[test]
fn without_any_one_v_the_lengths_do_not_fit() {
    let mut seen = 0;
    for margin in margins() {
        let seat = margin.outer_along[margin.seat];
        let widest = margin.vees.iter().map(|v| v.opening).fold(0.0, f64::max);
        let class = CLASSES.into_iter().find(|c| *c >= widest - 1e-9).expect("a class");
        for to_right in [false, true] {
            let beyond = beyond(margin, to_right);
            let openings: Vec<f64> = margin
                .vees
                .iter()
                .filter(|v| (v.at > seat) == to_right)
                .map(|v| v.opening)
                .collect();
            let taken: f64 = openings.iter().sum();
            let left_over = beyond - taken;
            assert!(left_over.abs() <= FITS + 1e-9, "{left_over}");
            for opening in &openings {
                assert!(left_over + opening > FITS, "one V could go");
                seen += 1;
            }
            // Nor would one less do if all the others were as wide as they may be.
            let fewer = openings.len().saturating_sub(1) as f64;
            let still = beyond - fewer * class;
            assert!(openings.is_empty() || still > FITS, "{still}");
        }
    }
    assert!(seen > 12, "{seen} V's looked at");
}

#[test]
fn without_any_one_slit_the_others_stand_too_far_apart() {
    let mut seen = 0;
    for margin in margins() {
        let n = margin.outer.len();
        let short = |i: usize| {
            i + 1 < n
                && excess(margin, i) < -EASES
                && margin.width[i] - margin.widths.point() >= 5.0
        };
        // Runs of steps, which are 1 mm, in which the margin is too short for its place.
        let mut runs: Vec<(usize, usize)> = Vec::new();
        for i in (0..n).filter(|i| short(*i)) {
            match runs.last_mut() {
                Some((_, end)) if *end == i => *end = i + 1,
                _ => runs.push((i, i + 1)),
            }
        }
        let mut in_runs = 0;
        for (from, to) in runs {
            let length = (to - from) as f64;
            let inside = |step: f64| step >= from as f64 && step <= to as f64;
            let slits = margin.slits.iter().filter(|s| inside(margin.step_at(s.at))).count();
            in_runs += slits;
            // One less: further apart than the 12 mm that a tongue may be wide.
            assert!(slits < 2 || length / (slits - 1) as f64 > 12.0, "{slits}");
            seen += slits;
        }
        // Where nothing is short there is none.
        assert_eq!(in_runs, margin.slits.len());
    }
    assert!(seen > 4, "{seen} slits looked at");
}
