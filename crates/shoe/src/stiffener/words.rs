//! What stands on the piece in words: its name, its sides, and what its lines mean.

use geometry::drawing::{Anchor, Item, Layer, Text};
use glam::DVec2;

use super::{Stiffener, piece};
use crate::foot::Side;

/// Heights of capital letters, mm: the name is read at arm's length, lines at reading distance.
const NAME: f64 = 4.5;
const LINE: f64 = 3.0;
const SMALL: f64 = 2.2;

/// Distance between lines of words, as a share of their height.
const LEADING: f64 = 1.75;

/// Clear space beside the centre back and under the skive line, mm.
const CLEAR: f64 = 2.0;

/// Room that the name takes, mm.
const NAME_WIDTH: f64 = 40.0;

/// Room from the centre back that the lines of words may take, mm; side names stand beyond.
const LINES_WIDTH: f64 = 64.0;

/// All words on the piece.
pub(super) fn on(piece: &Stiffener, job_name: &str) -> Vec<Item> {
    let mut items = name_block(piece, job_name);
    items.extend(Side::BOTH.map(|side| side_name(piece, side)));
    let height = piece::centre_back(piece).last().map_or(0.0, |p| p.y);
    let at = DVec2::new(outside_sign(piece) * 1.2 + SMALL / 2.0, 0.12 * height);
    items.push(words(at, SMALL, 90.0, Anchor::Start, "centre back"));
    items.extend(line_names(piece));
    items
}

fn words(at: DVec2, height: f64, angle: f64, anchor: Anchor, content: &str) -> Item {
    Item::Text(Text { layer: Layer::Text, at, height, angle, anchor, content: content.into() })
}

/// -1 where the outside lies to the left on the drawing, 1 where it lies to the right.
fn outside_sign(piece: &Stiffener) -> f64 {
    if piece.foot.right_side() == Side::Lateral { 1.0 } else { -1.0 }
}

/// Name, size, foot, material and face: on the inside, where the wall is higher, beside the
/// centre back and under the skive line.
fn name_block(piece: &Stiffener, job_name: &str) -> Vec<Item> {
    let brief = &piece.brief;
    let lines = [
        (NAME, "Heel stiffener".to_owned()),
        (LINE, format!("{} · {} foot · cut 1", brief.size, piece.foot)),
        (LINE, brief.kind.words().to_owned()),
        (LINE, format!("{:.1} mm thick · {} up", brief.thickness, brief.face)),
        (LINE, job_name.to_owned()),
    ];
    // Above cuts in the wall there is room for three lines: the rest stands on the outside.
    let on_inside = if piece.wall.cuts.is_empty() { lines.len() } else { 3 };
    let inward = -outside_sign(piece);
    let mut items = Vec::new();
    for (side, lines) in [(inward, &lines[..on_inside]), (-inward, &lines[on_inside..])] {
        let anchor = if side < 0.0 { Anchor::End } else { Anchor::Start };
        // A cut wall may be lowest at the centre back.
        let from = if piece.wall.cuts.is_empty() { 4 } else { 0 };
        let across = (from..=4).map(|k| side * (CLEAR + NAME_WIDTH * f64::from(k) / 4.0));
        let roof = across.map(|x| skive_height(piece, x)).fold(f64::INFINITY, f64::min);
        let mut y = roof - CLEAR - NAME;
        if side != inward {
            // Under the name of the skive.
            y -= LEADING * LINE;
        }
        for (height, line) in lines {
            items.push(words(DVec2::new(side * CLEAR, y), *height, 0.0, anchor, line));
            y -= LEADING * LINE;
        }
    }
    items
}

/// The height of the skive line over `x`.
fn skive_height(piece: &Stiffener, x: f64) -> f64 {
    let over = |w: &[DVec2]| (w[0].x - x) * (w[1].x - x) <= 0.0 && w[0].x != w[1].x;
    let crossings = piece.skive.windows(2).filter(|w| over(w)).map(|w| {
        let share = (x - w[0].x) / (w[1].x - w[0].x);
        w[0].y + share * (w[1].y - w[0].y)
    });
    crossings.fold(f64::NEG_INFINITY, f64::max).max(6.0 * LINE)
}

/// The side's name on its wing, along the wing, beyond the name block.
fn side_name(piece: &Stiffener, side: Side) -> Item {
    let feather = &piece.margin.feather;
    let to_right = piece.foot.right_side() == side;
    let seat = piece.margin.seat;
    let wing = if to_right { feather.len() - 1 - seat } else { seat };
    // The feather edge is sampled every millimetre.
    let far = (0.6 * wing as f64).max(LINES_WIDTH + 10.0).min(0.85 * wing as f64) as usize;
    let i = if to_right { seat + far } else { seat - far };
    along_feather(piece, i, 7.0, NAME, &side.to_string())
}

/// Words along the feather edge at sample `i`, `up` mm above it (negative: in the margin).
fn along_feather(piece: &Stiffener, i: usize, up: f64, height: f64, content: &str) -> Item {
    let feather = &piece.margin.feather;
    // Half the width of small letters; samples lie a millimetre apart.
    let i = clear_of_cuts(piece, i, (0.3 * height * content.len() as f64) as usize + 2);
    let (a, b) = (i.saturating_sub(6), (i + 6).min(feather.len() - 1));
    let angle = (feather[b] - feather[a]).to_angle().to_degrees();
    let at = feather[i] - piece.margin.outward[i] * up;
    words(at, height, angle, Anchor::Middle, content)
}

/// The sample nearest to `i` with `half` samples to either side free of cuts of the wall.
fn clear_of_cuts(piece: &Stiffener, i: usize, half: usize) -> usize {
    let margin = &piece.margin;
    if margin.wall_vees.is_empty() {
        return i;
    }
    let free = |i: &usize| margin.wall_vees.iter().all(|v| v.step.abs_diff(*i) >= half);
    (half..margin.feather.len().saturating_sub(half))
        .filter(free)
        .min_by_key(|free| free.abs_diff(i))
        .unwrap_or(i)
}

/// Small words beside the lines that are not cut.
fn line_names(piece: &Stiffener) -> Vec<Item> {
    let widths = &piece.margin.widths;
    let outside = outside_sign(piece);
    let last = piece.margin.feather.len() - 1;
    let outside_wing = if outside > 0.0 { last - piece.margin.seat } else { piece.margin.seat };
    let place = |share: f64| {
        let off = (share * outside_wing as f64) as usize;
        if outside > 0.0 { piece.margin.seat + off } else { piece.margin.seat - off }
    };
    let mut names = vec![along_feather(piece, place(0.2), 1.2, SMALL, "feather line")];
    if widths.insole > SMALL {
        names.push(along_feather(piece, place(0.62), -widths.insole + 0.8, SMALL, "insole edge"));
    } else if widths.insole > 0.0 {
        let below = -widths.insole - SMALL - 0.8;
        names.push(along_feather(piece, place(0.62), below, SMALL, "insole edge"));
    }
    if !piece.margin_skive.is_empty()
        && let Some(i) = uncut_place(piece, outside)
    {
        let below = -widths.whole() + 1.0;
        names.push(along_feather(piece, i, below, SMALL, "skive to a third"));
    }
    names.extend(top_skive_name(piece, outside));
    names
}

/// The sample nearest to the middle of the outside wing's margin, or else of the inside's, where
/// words fit between V's, slits and nicks.
fn uncut_place(piece: &Stiffener, outside: f64) -> Option<usize> {
    /// Half the length of the words, mm.
    const HALF: f64 = 11.0;
    let margin = &piece.margin;
    let cuts: Vec<DVec2> = margin
        .vees
        .iter()
        .flat_map(|v| v.mouth)
        .chain(margin.slits.iter().map(|s| s.mouth))
        .chain(piece.nicks.iter().chain(&piece.size_nicks).map(|n| n.mouth))
        .chain(margin.wall_vees.iter().flat_map(|v| v.mouth))
        .collect();
    let free = |i: &usize| {
        // Samples lie a millimetre apart.
        let beside = [i.checked_sub(HALF as usize), Some(*i), Some(i + HALF as usize)];
        let width = |i: Option<usize>| i.and_then(|i| margin.width.get(i)).copied().unwrap_or(0.0);
        let full = beside.into_iter().all(|i| width(i) >= 0.98 * margin.widths.whole());
        full && cuts.iter().all(|cut| cut.distance(margin.outer[*i]) > HALF)
    };
    let last = margin.feather.len() - 1;
    let right: Vec<usize> = (margin.seat..=last).collect();
    let left: Vec<usize> = (0..margin.seat).rev().collect();
    let (first, second) = if outside > 0.0 { (right, left) } else { (left, right) };
    first.iter().chain(&second).copied().find(free)
}

/// Beside the skive line of the top edge, on the outside, away from the name block.
fn top_skive_name(piece: &Stiffener, outside: f64) -> Option<Item> {
    // The skive line runs from the right end over the top to the left.
    let share = if outside > 0.0 { 0.36 } else { 0.64 };
    let n = piece.skive.len();
    let i = (n as f64 * share) as usize;
    let at = piece.skive.get(i)?;
    let before = piece.skive[i.saturating_sub(6)];
    let after = piece.skive[(i + 6).min(n - 1)];
    let angle = (before - after).to_angle().to_degrees();
    let below = (after - before).perp().normalize_or_zero() * (SMALL + 1.0);
    Some(words(*at + below, SMALL, angle, Anchor::Middle, "skive to nothing"))
}
