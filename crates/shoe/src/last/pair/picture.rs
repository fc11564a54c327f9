//! Where a pair differs, as pictures of the right last in colours.

use geometry::drawing::{Area, Drawing, Item};
use glam::{DVec2, DVec3};

use super::Pair;
use crate::scale::Scale;

/// Colours of the differences. Below half a millimetre two scans of one last differ as much.
pub const SCALE: Scale =
    Scale { from: [0.5, 1.0, 2.0, 4.0], unit: "mm", names: ["right fuller by", "left fuller by"] };

/// Side of the squares the picture is made of, mm.
const SQUARE: f64 = 1.5;

/// The colour of its border.
const BORDER: [u8; 3] = [110, 110, 110];

/// Where the last is looked at from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum View {
    /// From the inside of the right foot.
    Inside,
    /// From its outside.
    Outside,
    /// From below.
    Below,
}

impl View {
    /// Place on paper and nearness to the eye of a place of a right last.
    fn seen(self, p: DVec3) -> (DVec2, f64) {
        match self {
            // The toe lies to the left, as it does for an eye on the inside.
            View::Inside => (DVec2::new(-p.x, p.z), p.y),
            View::Outside => (DVec2::new(p.x, p.z), -p.y),
            View::Below => (DVec2::new(p.x, -p.y), -p.z),
        }
    }
}

/// The right last seen from one side, each place in the colour of its difference.
pub fn picture(pair: &Pair, view: View) -> Drawing {
    let seen: Vec<(DVec2, f64)> = pair.right.positions.iter().map(|p| view.seen(*p)).collect();
    let low = seen.iter().fold(DVec2::MAX, |low, (at, _)| low.min(*at));
    let high = seen.iter().fold(DVec2::MIN, |high, (at, _)| high.max(*at));
    if pair.right.triangles.is_empty() {
        return Drawing::default();
    }
    let [columns, rows] = ((high - low) / SQUARE).ceil().to_array().map(|n| n as usize + 1);
    // The nearest surface behind the middle of each square.
    let mut squares: Vec<Option<(f64, f64)>> = vec![None; columns * rows];
    for triangle in &pair.right.triangles {
        let corners = triangle.map(|v| seen[v as usize]);
        let values = triangle.map(|v| pair.fuller[v as usize]);
        paint(&corners, &values, low, [columns, rows], &mut squares);
    }
    let mut items = Vec::new();
    for row in 0..rows {
        let mut column = 0;
        while column < columns {
            let color = |i: usize| color_of(&squares, columns, [i, row]);
            let here = color(column);
            let mut end = column + 1;
            while end < columns && color(end) == here {
                end += 1;
            }
            if let Some(color) = here {
                let corner = |x: usize, y: usize| low + SQUARE * DVec2::new(x as f64, y as f64);
                let outline = vec![
                    corner(column, row),
                    corner(end, row),
                    corner(end, row + 1),
                    corner(column, row + 1),
                ];
                items.push(Item::Area(Area { outline, color }));
            }
            column = end;
        }
    }
    Drawing { title: "Where the pair differs".into(), items }
}

/// The colour of a square; its own at the border of the last, which the lightest would not show.
fn color_of(
    squares: &[Option<(f64, f64)>],
    columns: usize,
    [column, row]: [usize; 2],
) -> Option<[u8; 3]> {
    let (_, value) = squares[row * columns + column]?;
    let beside = |column: Option<usize>, row: Option<usize>| {
        let (column, row) = (column.filter(|c| *c < columns)?, row?);
        *squares.get(row * columns + column)?
    };
    let around = [
        beside(column.checked_sub(1), Some(row)),
        beside(Some(column + 1), Some(row)),
        beside(Some(column), row.checked_sub(1)),
        beside(Some(column), Some(row + 1)),
    ];
    let at_border = around.iter().any(Option::is_none);
    Some(if at_border { BORDER } else { SCALE.color(value) })
}

/// Writes the value of a triangle into the squares whose middle it covers, where it is the nearest.
fn paint(
    corners: &[(DVec2, f64); 3],
    values: &[f64; 3],
    low: DVec2,
    [columns, rows]: [usize; 2],
    squares: &mut [Option<(f64, f64)>],
) {
    let [a, b, c] = corners.map(|(at, _)| (at - low) / SQUARE - 0.5);
    let whole = (b - a).perp_dot(c - a);
    if whole.abs() < 1e-12 {
        return;
    }
    let least = a.min(b).min(c).ceil().max(DVec2::ZERO);
    let most = a.max(b).max(c).floor();
    for y in least.y as usize..=(most.y.max(-1.0) as usize).min(rows - 1) {
        for x in least.x as usize..=(most.x.max(-1.0) as usize).min(columns - 1) {
            let p = DVec2::new(x as f64, y as f64);
            let weights =
                [(b - p).perp_dot(c - p), (c - p).perp_dot(a - p), (a - p).perp_dot(b - p)]
                    .map(|w| w / whole);
            if weights.iter().any(|w| *w < -1e-9) {
                continue;
            }
            let mean = |of: [f64; 3]| (0..3).map(|k| weights[k] * of[k]).sum::<f64>();
            let near = mean(corners.map(|(_, near)| near));
            let square = &mut squares[y * columns + x];
            if square.is_none_or(|(before, _)| near > before) {
                *square = Some((near, mean(*values)));
            }
        }
    }
}
