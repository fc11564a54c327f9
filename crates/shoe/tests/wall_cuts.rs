//! Cuts in the wall: none unless allowed, the fewest that the material needs, and where they may be.

use std::sync::OnceLock;

use geometry::outline::distance_to_line;
use shoe::draft::{Drafted, draft};
use shoe::foot::{Foot, Side};
use shoe::job::Job;
use shoe::last::build::{LastMeasures, build_last};
use shoe::reasons::Verdict;
use shoe::stiffener::wall_cuts::{APART, BELOW_TOP, measured};

/// A heel that bulges less than is usual: board needs cuts on it, and fewer than may be made.
fn drafted(foot: Foot, rest: &str) -> Drafted {
    let mut measures = LastMeasures::for_size(260.0, foot);
    measures.heel_height = 25.0;
    measures.back_bulge = 3.5;
    let last = build_last(&measures).expect("ordinary measures").mesh;
    let text = format!(
        "schema = 1\nname = \"test\"\n[last]\nfile = \"last.stl\"\nsize = \"EU 39\"\nunit = \"mm\"\nfoot = \"{foot}\"\nheel_height = 25\n[stiffener]\n{rest}"
    );
    draft(&Job::from_toml(&text, "job.toml").expect("a sound job"), &last).expect("a last").value
}

fn board(cuts: usize) -> String {
    format!("kind = \"fibreboard\"\nwall_cuts = {cuts}\n")
}

/// Board with as many cuts as it needs, right and left.
fn cut() -> &'static [Drafted; 2] {
    static CUT: OnceLock<[Drafted; 2]> = OnceLock::new();
    CUT.get_or_init(|| [Foot::Right, Foot::Left].map(|foot| drafted(foot, &board(5))))
}

fn failures(drafted: &Drafted) -> Vec<String> {
    let failed = drafted.report.checks.iter().filter(|c| c.verdict == Verdict::Fail);
    failed.map(|c| format!("{}: {} against {}", c.name, c.value, c.limit)).collect()
}

#[test]
fn none_are_made_unless_allowed_and_none_in_leather() {
    let none = drafted(Foot::Right, &board(0));
    assert!(none.stiffener.wall.cuts.is_empty() && none.report.wall_cuts.is_none());
    let leather = drafted(Foot::Right, "wall_cuts = 5\n");
    assert!(leather.stiffener.wall.cuts.is_empty() && leather.report.wall_cuts.is_none());
    assert!(leather.report.warnings.iter().any(|w| w.place == "stiffener.wall_cuts"));
    assert!(none.report.warnings.iter().all(|w| w.place != "stiffener.wall_cuts"));
}

#[test]
fn the_fewest_that_bring_board_within_its_limits_are_made() {
    for drafted in cut() {
        assert_eq!(failures(drafted), Vec::<String>::new());
        let told = drafted.report.wall_cuts.as_ref().expect("cuts were allowed");
        assert!(told.limits_met && (1..5).contains(&told.cuts.len()), "{told:?}");
        assert!(told.without.area_over_limit > 20.0 && told.with.area_over_limit <= 6.0);
        assert!(told.with.p95 < told.without.p95 && told.with.mean < told.without.mean);
    }
    let needed = measured(&cut()[0].stiffener).len();
    let fewer = drafted(Foot::Right, &board(needed - 1));
    let told = fewer.report.wall_cuts.as_ref().expect("cuts were allowed");
    assert!(!told.limits_met && told.cuts.len() < needed);
    let open = |c: &&shoe::reasons::Check| c.verdict == Verdict::Unsure;
    assert!(fewer.report.checks.iter().filter(open).any(|c| c.name.contains("than its material")));
}

/// Left and right are drafted on lasts that mirror each other, but not on mirrored triangles.
#[test]
fn a_left_foot_needs_as_many_on_the_same_sides() {
    let [right, left] = cut().each_ref().map(|d| measured(&d.stiffener));
    assert_eq!(right.len(), left.len());
    for side in Side::BOTH {
        let on = |cuts: &[shoe::stiffener::wall_cuts::WallCut]| {
            let mut places: Vec<f64> =
                cuts.iter().filter(|c| c.side == side).map(|c| c.along).collect();
            places.sort_by(f64::total_cmp);
            places
        };
        let (one, other) = (on(&right), on(&left));
        assert_eq!(one.len(), other.len(), "{side}: {one:?} {other:?}");
        for (a, b) in one.iter().zip(&other) {
            assert!((a - b).abs() < 5.0, "{side}: {one:?} {other:?}");
        }
    }
}

#[test]
fn cuts_keep_to_their_depth_and_their_distances() {
    for drafted in cut() {
        let piece = &drafted.stiffener;
        let (top, back) = (
            piece.wall.flat_line(&piece.wall.free_edge),
            piece.wall.flat_line(&piece.wall.centre_back),
        );
        for cut in measured(piece) {
            assert!(cut.on_last > 7.5 && cut.on_last <= 20.1, "{cut:?}");
            assert!(cut.opening() > 1.0 && (cut.flanks[0] - cut.flanks[1]).abs() < 0.5, "{cut:?}");
            assert!(distance_to_line(cut.point, &top) >= BELOW_TOP - 0.5);
            for place in [cut.mouth[0], cut.mouth[1], cut.point] {
                assert!(distance_to_line(place, &back) >= APART - 0.5);
            }
        }
    }
    let shallow = drafted(Foot::Right, &format!("{}wall_cut_depth = 12\n", board(2)));
    let cuts = measured(&shallow.stiffener);
    assert!(!cuts.is_empty() && cuts.iter().all(|cut| cut.on_last <= 12.1), "{cuts:?}");
}

#[test]
fn every_section_of_the_lower_edge_keeps_its_length() {
    for drafted in cut() {
        let wall = &drafted.stiffener.wall;
        let sections = wall.sections();
        assert_eq!(sections.len(), wall.cuts.len() + 1);
        for section in sections {
            let [_, lies, flat] = wall.lengths(section);
            assert!((lies - flat).abs() < 0.3, "{lies} {flat}");
        }
        // On the last the cuts are closed.
        for lips in &wall.cuts {
            let [a, b] = [lips.left[0], lips.right[0]].map(|v| wall.on_last.positions[v as usize]);
            assert!(a.distance(b) < 1e-9);
        }
    }
}
