//! What is said about cuts in the wall: checked by measuring the finished piece again, and in words.

use geometry::outline::distance_to_line;
use glam::DVec2;

use super::Stiffener;
use super::wall_cuts::{APART, BELOW_TOP, measured};
use crate::reasons::{Check, Mark, Verdict};

/// What a depth may miss, mm: what a ruler can tell.
const RULER: f64 = 0.1;

/// What a distance that is kept where the piece lies may lose when it is laid flat, and what two
/// sides of a cut may differ by, mm: as the other lines of the piece.
const LAID_FLAT: f64 = 0.5;

/// What is checked of the cuts that were made.
pub(super) fn checks(piece: &Stiffener) -> Vec<Check> {
    let Some(gain) = &piece.wall_cuts else { return Vec::new() };
    let check =
        |name: &str, value: f64, unit: &str, limit: String, verdict: Verdict, reason: &str| Check {
            name: name.into(),
            value,
            unit: unit.into(),
            limit,
            verdict,
            reason: reason.into(),
            mark: Mark::CommonPractice,
            place: "wall".into(),
        };
    let held = |holds: bool| if holds { Verdict::Pass } else { Verdict::Fail };
    let material = &gain.material;
    let mut all = vec![check(
        "area of the wall that must give more than its material does",
        gain.with.area_over,
        "%",
        format!(
            "{} % or less beyond stretching by {} % or compressing by {} % ({}), and all but a hundredth within {} times that: now {:.1}",
            gain.goal.area_over,
            material.stretch,
            material.compress,
            material.name,
            gain.goal.times,
            gain.with.times
        ),
        if gain.met { Verdict::Pass } else { Verdict::Unsure },
        "beyond it the sheet gapes or folds; the fewest cuts allowed that bring it under are made",
    )];
    let wall = &piece.wall;
    if wall.cuts.is_empty() {
        return all;
    }
    let cuts = measured(piece);
    let least = |values: &mut dyn Iterator<Item = f64>| values.fold(f64::INFINITY, f64::min);
    let most = |values: &mut dyn Iterator<Item = f64>| values.fold(0.0, f64::max);
    let deepest = most(&mut cuts.iter().map(|cut| cut.on_last));
    all.push(check(
        "deepest cut in the wall, on the bare last",
        deepest,
        "mm",
        format!("{:.1} mm or less, give or take {RULER} mm", piece.brief.wall_cut_depth),
        held(deepest <= piece.brief.wall_cut_depth + RULER),
        "so far up you allowed it",
    ));
    let top = wall.flat_line(&wall.free_edge);
    let below = least(&mut cuts.iter().map(|cut| distance_to_line(cut.point, &top)));
    all.push(check(
        "points of cuts below the top edge",
        below,
        "mm",
        format!("{BELOW_TOP:.0} mm or more, give or take {LAID_FLAT} mm"),
        held(below >= BELOW_TOP - LAID_FLAT),
        "the top edge must hold in one piece, and its skive uncut",
    ));
    let back = wall.flat_line(&wall.centre_back);
    let off = least(&mut cuts.iter().flat_map(|cut| {
        [cut.mouth[0], cut.mouth[1], cut.point].map(|p| distance_to_line(p, &back))
    }));
    all.push(check(
        "cuts off the centre back",
        off,
        "mm",
        format!("{APART:.0} mm or more, give or take {LAID_FLAT} mm"),
        held(off >= APART - LAID_FLAT),
        "the back seam presses there and tears a cut open",
    ));
    let between = least(&mut cuts.windows(2).map(|pair| {
        let (one, other) = (pair[0], pair[1]);
        let sides = [[one.mouth[1], one.point], [other.mouth[0], other.point]];
        let to = |p: [DVec2; 2], line: &[DVec2]| {
            distance_to_line(p[0], line).min(distance_to_line(p[1], line))
        };
        to(sides[0], &sides[1]).min(to(sides[1], &sides[0]))
    }));
    if between.is_finite() {
        all.push(check(
            "narrowest tongue of wall between two cuts",
            between,
            "mm",
            format!("{APART:.0} mm or more, give or take {LAID_FLAT} mm"),
            held(between >= APART - LAID_FLAT),
            "a narrower one bends instead of holding, and cuts may not overlap",
        ));
    }
    let uneven =
        most(&mut cuts.iter().map(|cut| (cut.flanks[0] - cut.flanks[1]).abs().max(cut.bow)));
    all.push(check(
        "sides of a cut that close on each other",
        uneven,
        "mm",
        format!("the same length and straight within {LAID_FLAT} mm"),
        if uneven <= LAID_FLAT { Verdict::Pass } else { Verdict::Unsure },
        "lasted, the two sides of a V meet",
    ));
    all
}

/// The piece without cuts and with them, in words: one line each.
pub fn in_words(piece: &Stiffener) -> Vec<String> {
    let Some(gain) = &piece.wall_cuts else { return Vec::new() };
    let cuts = measured(piece);
    let beyond = format!(
        "of the wall is beyond what {} gives (stretched by more than {} % or compressed by more than {} %)",
        gain.material.name, gain.material.stretch, gain.material.compress
    );
    let (with, without) = (gain.with, gain.without);
    if cuts.is_empty() {
        let why = if gain.met { "none needed" } else { "none found that helps" };
        return vec![format!("cuts in the wall: {why}; {:.1} % {beyond}", without.area_over)];
    }
    let mut lines = vec![format!(
        "cuts in the wall: {} of at most {}; without them {:.1} % {beyond}, with them {:.1} %; mean strain without {:.2} %, with {:.2} %",
        cuts.len(),
        piece.brief.wall_cuts,
        without.area_over,
        with.area_over,
        gain.strain[0][0],
        gain.strain[1][0],
    )];
    lines.extend(cuts.iter().map(|cut| {
        format!(
            "  {}, {:.1} mm from the seat along the feather line: {:.1} mm deep, {:.1} mm wide at the feather line",
            cut.side,
            cut.along,
            cut.depth(),
            cut.opening()
        )
    }));
    if !gain.met {
        lines.push("  more strain is left than the material takes; allow more or deeper cuts, or take a softer sheet".into());
    }
    lines
}
