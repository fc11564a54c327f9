//! The stiffener on built lasts: rules kept, conflicts named, the margin folded under.

use geometry::mesh::TriMesh;
use geometry::surface::Surface;
use glam::{DVec2, DVec3};
use shoe::draft::{DraftError, Drafted, draft};
use shoe::foot::{Foot, Side};
use shoe::job::Job;
use shoe::last::build::{LastMeasures, build_last};
use shoe::reasons::Verdict;
use shoe::stiffener::chart::Chart;
use shoe::stiffener::verify;

fn last(eu: f64, foot: Foot) -> TriMesh {
    let mut measures = LastMeasures::for_size(eu * 20.0 / 3.0, foot);
    measures.heel_height = 25.0;
    build_last(&measures).expect("ordinary measures").mesh
}

fn job(eu: f64, foot: Foot, rest: &str) -> Job {
    let text = format!(
        "schema = 1\nname = \"test\"\n[last]\nfile = \"last.stl\"\nsize = \"EU {eu}\"\nunit = \"mm\"\nfoot = \"{foot}\"\nheel_height = 25\n{rest}"
    );
    Job::from_toml(&text, "job.toml").expect("a sound job")
}

fn drafted(eu: f64, foot: Foot, rest: &str) -> Drafted {
    draft(&job(eu, foot, rest), &last(eu, foot)).expect("an ordinary last").value
}

fn refused(eu: f64, rest: &str) -> String {
    let outcome = draft(&job(eu, Foot::Right, rest), &last(eu, Foot::Right));
    outcome.err().map_or("it was drafted".into(), |error: DraftError| error.to_string())
}

fn failures(drafted: &Drafted) -> Vec<String> {
    let failed = drafted.report.checks.iter().filter(|c| c.verdict == Verdict::Fail);
    failed.map(|c| format!("{}: {} against {}", c.name, c.value, c.limit)).collect()
}

/// Back heights of the rule of thumb (common practice, no source) for three sizes.
#[test]
fn ordinary_sizes_of_both_feet_pass_their_checks() {
    for (eu, foot, back) in
        [(36.0, Foot::Left, 51.0), (41.0, Foot::Right, 57.667), (46.0, Foot::Left, 64.333)]
    {
        let drafted = drafted(eu, foot, "");
        assert_eq!(failures(&drafted), Vec::<String>::new(), "EU {eu}");
        let [on_last, _, _] = drafted.stiffener.wall.lengths(&drafted.stiffener.wall.centre_back);
        assert!((on_last - back).abs() < 0.1, "EU {eu}: {on_last}");
    }
}

/// A ruler lies on the form: roughness, over which the way is longer, moves the edge no lower.
/// Without noise the piece ends at the same height, so the one judges the other.
#[test]
fn a_rough_scan_is_measured_as_the_form_it_is_of() {
    let mut measures = LastMeasures::for_size(260.0, Foot::Right);
    measures.heel_height = 25.0;
    measures.resolution = 1.2;
    let smooth = build_last(&measures).expect("ordinary measures").mesh;
    let mut rough = smooth.clone();
    // A standard deviation of 0.05 mm along each axis, evenly spread, by a linear congruential
    // generator (Knuth's MMIX constants).
    let mut state = 7u64;
    let mut noise = || {
        state =
            state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        ((state >> 11) as f64 / (1u64 << 53) as f64 - 0.5) * 0.05 * 12f64.sqrt()
    };
    for p in &mut rough.positions {
        *p += DVec3::new(noise(), noise(), noise());
    }
    let job = job(39.0, Foot::Right, "");
    let [smooth, rough] = [smooth, rough].map(|last| draft(&job, &last).expect("drafted").value);
    assert_eq!(failures(&rough), Vec::<String>::new());
    let back = |d: &Drafted| {
        let wall = &d.stiffener.wall;
        wall.lengths(&wall.centre_back)[0]
    };
    let (smooth, rough) = (back(&smooth), back(&rough));
    assert!((rough - smooth).abs() < 0.08, "{rough} on the rough one, {smooth} on the smooth");
}

/// Folds the margin under: each tongue between two V's keeps its length on the flat piece, and
/// together they must fill the way there is under the insole, no more and hardly less.
#[test]
fn the_margin_folds_under_without_overlap() {
    for kind in ["leather", "fibreboard"] {
        let rest = format!("[stiffener]\nkind = \"{kind}\"\n");
        let drafted = drafted(38.0, Foot::Right, &rest);
        let margin = &drafted.stiffener.margin;
        assert!(margin.vees.len() >= 4, "{} V's", margin.vees.len());
        for pair in margin.vees.windows(2) {
            let gap = pair[1].at - pair[1].opening / 2.0 - pair[0].at - pair[0].opening / 2.0;
            assert!(gap >= 2.0, "V's overlap or leave a sliver of {gap} mm");
        }
        // From the middle between the feather edge's ends of the gathered run to its other end.
        let first = margin.vees[0].at - 10.0;
        let last = margin.vees[margin.vees.len() - 1].at + 10.0;
        let cut_away: f64 = margin.vees.iter().map(|v| v.mouth[0].distance(v.mouth[1])).sum();
        let (from, to) = (margin.step_at(first), margin.step_at(last));
        let under = |step: f64| {
            let i = (step as usize).min(margin.under_along.len() - 2);
            let (a, b) = (margin.under_along[i], margin.under_along[i + 1]);
            a + (b - a) * (step - i as f64)
        };
        let left_over = (last - first) - cut_away - (under(to) - under(from));
        // What eases in without a V: under 6 % of the 20 mm beside the outermost V's, and of
        // a V's own chord against its arc.
        assert!(left_over.abs() < 4.0, "{left_over} mm too much or too little");
        for (point, clearance) in margin
            .vees
            .iter()
            .map(|v| (v.point, v.clearance))
            .chain(margin.slits.iter().map(|s| (s.point, s.clearance)))
            .chain(drafted.stiffener.nicks.iter().map(|n| (n.point, n.clearance)))
        {
            // Measured again, apart from how it was made: to the nearest point of the line.
            let again = distance_to(&margin.feather, point) - margin.widths.insole;
            assert!(again >= 2.0 && (again - clearance).abs() < 0.05, "{again} {clearance}");
        }
    }
}

fn distance_to(line: &[DVec2], point: DVec2) -> f64 {
    let fine =
        line.windows(2).flat_map(|w| (0..50).map(move |i| w[0].lerp(w[1], f64::from(i) / 50.0)));
    fine.map(|p| p.distance(point)).fold(f64::INFINITY, f64::min)
}

#[test]
fn the_insole_on_the_last_is_taken_off_once() {
    let rest = "[stiffener]\ninsole_on_last = true\ninsole_thickness = 3\n";
    let with = drafted(38.0, Foot::Right, rest);
    let without = drafted(38.0, Foot::Right, "[stiffener]\ninsole_thickness = 3\n");
    let height = |d: &Drafted| d.stiffener.wall.lengths(&d.stiffener.wall.centre_back)[0];
    // Heights count from the feather line, 3 mm above the edge that was scanned; the margin
    // then has no insole edge left to pass.
    assert!((height(&with) - height(&without) - 3.0).abs() < 0.05);
    assert_eq!(with.stiffener.margin.widths.insole, 0.0);
    assert_eq!(without.stiffener.margin.widths.insole, 3.0);
    assert_eq!(failures(&with), Vec::<String>::new());
}

#[test]
fn wings_may_differ_and_a_short_one_has_no_dip() {
    let rest = "[stiffener]\nmedial = { length = \"long\" }\nlateral = { length = \"short\" }\n";
    let drafted = drafted(39.0, Foot::Left, rest);
    assert_eq!(failures(&drafted), Vec::<String>::new());
    let edge = &drafted.stiffener.edge;
    let (inside, outside) = (edge.end(Side::Medial), edge.end(Side::Lateral));
    assert!((outside.along_axis - (260.0 / 4.0 + 10.0)).abs() < 0.5, "{}", outside.along_axis);
    assert!(inside.along_axis > outside.along_axis + 60.0);
    assert!(outside.lean > 3.0, "the end leans back");
    // From the square run at the back to its corner the short edge bends one way only.
    let sign = outside.along.signum();
    let heights: Vec<f64> =
        (8..(outside.along.abs() as i32 - 12)).map(|i| edge.height(sign * f64::from(i))).collect();
    let bends = heights.windows(3).map(|w| w[0] - 2.0 * w[1] + w[2]);
    assert!(bends.fold(f64::NEG_INFINITY, f64::max) < 0.02, "a dip");
}

#[test]
fn the_topline_and_the_wearer_win_over_the_rules() {
    let low = drafted(40.0, Foot::Right, "[topline]\nback = 52\n");
    assert!((low.stiffener.edge.back_height - 47.0).abs() < 1e-9, "5 mm below the topline");
    let own = drafted(40.0, Foot::Right, "[wearer]\nankle_lateral = 34\n");
    let chart_free = own.stiffener.edge.ceilings.iter().find(|c| c.side == Some(Side::Lateral));
    assert_eq!(chart_free.map(|c| c.height), Some(34.0));
    assert_eq!(failures(&own), Vec::<String>::new());
    // And no point of the finished edge within reach of that ankle is higher than 33 mm.
    let surface = Surface::new(&own.last.mesh).expect("a manifold");
    let line = &own.last.marks.feather_line.points;
    let chart = Chart::new(&surface, line, Foot::Right).expect("a feather line");
    let heights = verify::edge_heights(&own.stiffener, &chart).expect("a sound piece");
    let ankle = own.stiffener.landmarks.ankle(Side::Lateral);
    let near = heights.iter().filter(|(p, _)| p.y < 0.0 && (p.x - ankle).abs() <= 18.0);
    let highest = near.map(|h| h.1).fold(0.0, f64::max);
    assert!(highest <= 33.0 && highest > 25.0, "{highest}");
}

#[test]
fn limits_that_exclude_each_other_are_named_with_the_millimetres() {
    let message = refused(39.0, "[stiffener]\nback_height = 60\n[topline]\nback = 55\n");
    for part in ["back height 60.0 mm", "topline", "10.0 mm", "centre back"] {
        assert!(message.contains(part), "{part} is missing in: {message}");
    }
    let message = refused(39.0, "[wearer]\nankle_medial = 12\n");
    for part in ["inside ankle 12.0 mm", "conflict"] {
        assert!(message.contains(part), "{part} is missing in: {message}");
    }
}

#[test]
fn ankles_of_a_child_must_be_entered() {
    let message = refused(28.0, "");
    for part in ["EU 28 is a child's", "wearer.ankle_medial", "wearer.ankle_lateral"] {
        assert!(message.contains(part), "{part} is missing in: {message}");
    }
    let measured = "[wearer]\nankle_medial = 34\nankle_lateral = 30\n";
    let drafted = drafted(28.0, Foot::Right, measured);
    assert!(drafted.report.cautions.iter().any(|c| c.starts_with("Children's feet")));
}

#[test]
fn a_mirrored_last_gives_the_mirrored_piece() {
    let right = drafted(39.0, Foot::Right, "");
    let mut mesh = last(39.0, Foot::Right);
    mesh.positions.iter_mut().for_each(|p| p.y = -p.y);
    mesh.triangles.iter_mut().for_each(|t| t.swap(0, 1));
    let left = draft(&job(39.0, Foot::Left, ""), &mesh).expect("a mirrored last").value;
    let line = |d: &Drafted| d.stiffener.wall.flat_line(&d.stiffener.wall.free_edge);
    let (right, left) = (line(&right), line(&left));
    for p in right.iter().step_by(7) {
        let mirrored = DVec2::new(-p.x, p.y);
        let apart = distance_to(&left, mirrored);
        assert!(apart < 0.1, "{p} is {apart} mm off");
    }
}

#[test]
fn heights_given_for_the_wall_are_those_of_a_ruler() {
    let drafted = drafted(36.0, Foot::Right, "");
    let surface = Surface::new(&drafted.last.mesh).expect("a manifold");
    let line = &drafted.last.marks.feather_line.points;
    let chart = Chart::new(&surface, line, Foot::Right).expect("a feather line");
    let heights = verify::edge_heights(&drafted.stiffener, &chart).expect("a sound piece");
    let highest = heights.iter().map(|h| h.1).fold(0.0, f64::max);
    assert!((highest - 51.0).abs() < 0.05, "{highest}");
}
