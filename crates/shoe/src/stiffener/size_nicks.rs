//! Nicks that tell the size without reading a word, so that pieces of a range sort themselves.
//!
//! Our own code, in the edge of the lasting margin, forward of the outside wing's one nick: it tells
//! the last figure of the size. A nick that slants towards the wing's end counts five, a straight
//! one counts one, and one that slants back towards the heel a half. Ten stands for nought, so that
//! no size goes without a nick. Sizes counted in mm are told in cm.

use geometry::drawing::{Anchor, Curve, Drawing, Item, Layer, Path, Stroke as Line, Text};
use glam::DVec2;

use super::Stiffener;
use super::margin::Margin;
use super::nicks::{DEPTH, Nick, free_place, least_width};
use crate::foot::Side;
use crate::size::{Size, System};

/// Distance between the nicks of a size, mm: more than in the group that tells the foot, since
/// some of them lean.
const SPACING: f64 = 4.0;

/// What the half keeps off further, mm: it leans towards the one before it.
const BEFORE_HALF: f64 = 2.0;

/// How far the inner end of a slanting nick lies to one side, mm.
const SLANT: f64 = 2.0;

/// Edge between the outside wing's one nick and those of the size, mm.
const BEYOND: f64 = 12.0;

/// Sizes side by side in the picture of the code, and the room of each, mm.
const IN_A_ROW: usize = 5;
const CELL: DVec2 = DVec2::new(36.0, 13.0);

/// One nick of a size.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stroke {
    /// Slants towards the wing's end.
    Five,
    /// Straight.
    One,
    /// Slants towards the heel.
    Half,
}

impl Stroke {
    /// How far its inner end lies nearer to the wing's end than its mouth, mm.
    const fn lean(self) -> f64 {
        match self {
            Stroke::Five => SLANT,
            Stroke::One => 0.0,
            Stroke::Half => -SLANT,
        }
    }
}

/// The nicks of `size`, from the heel forward; none for the sizes between (such as 247.5 mm), which
/// have no figure of their own.
pub fn code(size: Size) -> Option<Vec<Stroke>> {
    let in_mm = matches!(size.system(), System::Mondopoint | System::China);
    let number = if in_mm { size.number() / 10.0 } else { size.number() };
    let halves = (2.0 * number).round();
    if (2.0 * number - halves).abs() > 1e-6 {
        return None;
    }
    let figure = match (halves / 2.0).floor() as usize % 10 {
        0 => 10,
        figure => figure,
    };
    let strokes = [
        (Stroke::Five, figure / 5),
        (Stroke::One, figure % 5),
        (Stroke::Half, halves as usize % 2),
    ];
    Some(strokes.iter().flat_map(|(stroke, times)| vec![*stroke; *times]).collect())
}

/// Where the mouths of `strokes` lie, mm forward of the first.
fn offsets(strokes: &[Stroke]) -> Vec<f64> {
    let place = |(k, stroke): (usize, &Stroke)| {
        let further = if *stroke == Stroke::Half && k > 0 { BEFORE_HALF } else { 0.0 };
        SPACING * k as f64 + further
    };
    strokes.iter().enumerate().map(place).collect()
}

/// The code of `size` in words: "one slanting, three straight (8)".
pub fn in_words(size: Size) -> Option<String> {
    let strokes = code(size)?;
    let count = |wanted| strokes.iter().filter(|stroke| **stroke == wanted).count();
    let kinds = [
        (count(Stroke::Five), "slanting forward"),
        (count(Stroke::One), "straight"),
        (count(Stroke::Half), "slanting back"),
    ];
    let said = kinds.iter().filter(|(n, _)| *n > 0).map(|(n, kind)| format!("{n} {kind}"));
    Some(said.collect::<Vec<_>>().join(", "))
}

/// The code of each of `sizes`, drawn as it stands in the outside wing of a right foot: the heel to the
/// left, the edge below. Lengths are those on the piece.
pub fn picture(sizes: &[Size]) -> Drawing {
    let mut items = Vec::new();
    let line = |points: &[DVec2]| {
        Item::Path(Path {
            layer: Layer::Cut,
            stroke: Line::Solid,
            curve: Curve::polyline(points.iter().copied(), false),
        })
    };
    let with_code: Vec<(Size, Vec<Stroke>)> =
        sizes.iter().filter_map(|size| Some((*size, code(*size)?))).collect();
    for (i, (size, strokes)) in with_code.iter().enumerate() {
        let row = (i / IN_A_ROW) as f64;
        let corner = DVec2::new(CELL.x * (i % IN_A_ROW) as f64, -CELL.y * row);
        items.push(line(&[corner, corner + DVec2::X * (CELL.x - 4.0)]));
        for (offset, stroke) in offsets(strokes).iter().zip(strokes) {
            let mouth = corner + DVec2::X * (5.0 + offset);
            items.push(line(&[mouth, mouth + DVec2::new(stroke.lean(), DEPTH)]));
        }
        items.push(Item::Text(Text {
            layer: Layer::Text,
            at: corner - DVec2::Y * 4.5,
            height: 3.0,
            angle: 0.0,
            anchor: Anchor::Start,
            content: size.to_string(),
        }));
    }
    Drawing { title: "The nicks of each size".into(), items }
}

/// How high the picture of `sizes` is, mm, drawn as large as on the piece.
pub fn picture_height(sizes: &[Size]) -> f64 {
    let rows = sizes.len().div_ceil(IN_A_ROW).max(1);
    CELL.y * (rows - 1) as f64 + DEPTH + 4.5
}

/// Where the nicks of `size` lie on the outside wing of `piece`; none where there is no code, no run of
/// edge free of V's and slits, or no width.
pub(super) fn place(piece: &Stiffener, size: Size) -> Option<Vec<Nick>> {
    let strokes = code(size)?;
    let margin = &piece.margin;
    let back = margin.outer_along[margin.seat];
    let sign = if piece.foot.right_side() == Side::Lateral { 1.0 } else { -1.0 };
    let one = piece.nicks.iter().find(|nick| nick.side == Some(Side::Lateral))?;
    let from = (along(margin, one.mouth) - back).abs();
    let offsets = offsets(&strokes);
    let half_way = offsets.last()? / 2.0;
    let half = half_way + SLANT;
    // Where the margin begins to run out its edge bends, and a slant is told less well.
    let widths = [0.98 * margin.widths.whole(), least_width(margin)];
    let free = |least: &f64| free_place(margin, [back, sign], from + BEYOND + half, half, *least);
    let middle = widths.iter().find_map(free)?;
    let nick = |(offset, stroke): (&f64, &Stroke)| {
        let at = middle + sign * (offset - half_way);
        let mouth = margin.on_outer(at);
        // From left to right the piece lies to the left of its lower edge.
        let along = (margin.on_outer(at + 1.0) - margin.on_outer(at - 1.0)).normalize_or_zero();
        let point = mouth + along.perp() * DEPTH + along * (sign * stroke.lean());
        let clearance = margin.from_feather(point) - margin.widths.insole;
        Nick { mouth, point, side: Some(Side::Lateral), clearance }
    };
    Some(offsets.iter().zip(&strokes).map(nick).collect())
}

/// How far along the outer edge `place` lies, mm.
fn along(margin: &Margin, place: DVec2) -> f64 {
    let nearest = (0..margin.outer.len()).min_by(|a, b| {
        let [a, b] = [*a, *b].map(|i| margin.outer[i].distance_squared(place));
        a.total_cmp(&b)
    });
    nearest.map_or(0.0, |i| margin.outer_along[i])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_figure_has_its_own_code_and_none_is_empty() {
        let eu = |n: f64| code(Size::new(System::Eu, n).expect("there is one"));
        let mut seen = Vec::new();
        for halves in 76..96 {
            let strokes = eu(f64::from(halves) / 2.0).expect("halves have a code");
            assert!(!strokes.is_empty() && !seen.contains(&strokes), "{halves}");
            seen.push(strokes);
        }
        // Ten sizes on it begins again.
        assert_eq!(eu(38.5), eu(48.5));
    }

    #[test]
    fn sizes_in_millimetres_are_told_in_centimetres() {
        let read = |text: &str| text.parse::<Size>().expect("there is one");
        assert_eq!(code(read("JP 24.5")), code(read("Mondopoint 245")));
        assert_eq!(code(read("CN 245")), code(read("JP 24.5")));
        assert_eq!(code(read("Mondopoint 247.5")), None);
        assert_eq!(in_words(read("EU 38")).as_deref(), Some("1 slanting forward, 3 straight"));
        assert_eq!(in_words(read("EU 40")).as_deref(), Some("2 slanting forward"));
        let half = "1 slanting forward, 4 straight, 1 slanting back";
        assert_eq!(in_words(read("JP 24.5")).as_deref(), Some("4 straight, 1 slanting back"));
        assert_eq!(in_words(read("UK 9.5")).as_deref(), Some(half));
    }
}
