//! Labels in a row above or below a picture, with a line to what each names; dimension lines.

use cutting::text_box;
use geometry::drawing::{Anchor, Area, Curve, Item, Layer, Path, Stroke, Text};
use glam::DVec2;

/// Height of a capital letter, mm.
const HEIGHT: f64 = 2.1;
/// From one base line to the next, mm.
const LEADING: f64 = 3.5;
/// White between two labels, mm.
const GAP: f64 = 2.5;

/// A name for a place.
pub(super) struct Label {
    /// One under the other.
    pub(super) lines: Vec<String>,
    /// What it names, mm on paper.
    pub(super) at: DVec2,
}

impl Label {
    pub(super) fn new(at: DVec2, lines: &[&str]) -> Self {
        Self { lines: lines.iter().map(|l| (*l).to_owned()).collect(), at }
    }

    fn width(&self) -> f64 {
        let width = |line: &String| {
            let [start, end, ..] = text_box(&text(DVec2::ZERO, line, Anchor::Start));
            end.x - start.x
        };
        self.lines.iter().map(width).fold(0.0, f64::max)
    }
}

/// A line of text as labels have it.
pub(super) fn text(at: DVec2, content: &str, anchor: Anchor) -> Text {
    let content = content.to_owned();
    Text { layer: Layer::Text, at, height: HEIGHT, angle: 0.0, anchor, content }
}

/// Labels set side by side between `left` and `right`, as near to what they name as they can
/// be. `edge` is the side of the row towards the picture; the row stands above it or hangs
/// below it.
pub(super) fn row(
    mut labels: Vec<Label>,
    edge: f64,
    above: bool,
    left: f64,
    right: f64,
) -> Vec<Item> {
    labels.sort_by(|a, b| a.at.x.total_cmp(&b.at.x).then(b.at.y.total_cmp(&a.at.y)));
    let widths: Vec<f64> = labels.iter().map(Label::width).collect();
    let wanted: Vec<f64> = labels.iter().map(|label| label.at.x).collect();
    let middles = spread(&wanted, &widths, left, right);
    let mut items = Vec::new();
    for (label, x) in labels.iter().zip(middles) {
        let n = label.lines.len();
        for (i, line) in label.lines.iter().enumerate() {
            let below = if above {
                (n - 1 - i) as f64 * LEADING + 1.2
            } else {
                -(i as f64) * LEADING - HEIGHT - 1.2
            };
            items.push(Item::Text(text(DVec2::new(x, edge + below), line, Anchor::Middle)));
        }
        items.push(thin([DVec2::new(x, edge), label.at]));
    }
    items
}

/// How high a row of labels is at most, mm.
pub(super) fn row_height(lines: usize) -> f64 {
    lines as f64 * LEADING + 1.5
}

/// Middles of boxes of these widths that do not overlap, in order, each as near to where it is
/// wanted as the others let it, all between `left` and `right`.
fn spread(wanted: &[f64], widths: &[f64], left: f64, right: f64) -> Vec<f64> {
    // Boxes that touch form a block, which lies where its boxes want it on average.
    struct Block {
        first: usize,
        /// Sum of the wanted places of the block's left side.
        sum: f64,
        count: f64,
        width: f64,
    }
    let mut blocks: Vec<Block> = Vec::new();
    let place = |b: &Block| (b.sum / b.count).clamp(left, (right - b.width + GAP).max(left));
    for (i, (x, width)) in wanted.iter().zip(widths).enumerate() {
        let (width, half) = (width + GAP, width / 2.0);
        let mut block = Block { first: i, sum: x - half, count: 1.0, width };
        while let Some(before) = blocks.last()
            && place(before) + before.width > place(&block)
        {
            block.sum = before.sum + block.sum - before.width * block.count;
            block.count += before.count;
            block.width += before.width;
            block.first = before.first;
            blocks.pop();
        }
        blocks.push(block);
    }
    let mut middles = Vec::new();
    for (k, block) in blocks.iter().enumerate() {
        let end = blocks.get(k + 1).map_or(wanted.len(), |next| next.first);
        let mut x = place(block);
        for width in &widths[block.first..end] {
            middles.push(x + width / 2.0);
            x += width + GAP;
        }
    }
    middles
}

/// A thin unbroken line.
pub(super) fn thin(points: impl IntoIterator<Item = DVec2>) -> Item {
    path(points, Layer::Mark, Stroke::Solid)
}

/// A line of a picture.
pub(super) fn path(points: impl IntoIterator<Item = DVec2>, layer: Layer, stroke: Stroke) -> Item {
    Item::Path(Path { layer, stroke, curve: Curve::polyline(points, false) })
}

/// A dimension line with ticks at its ends.
pub(super) fn dimension(from: DVec2, to: DVec2) -> Vec<Item> {
    let tick = DVec2::new(0.9, 0.9);
    vec![thin([from, to]), thin([from - tick, from + tick]), thin([to - tick, to + tick])]
}

/// A dot on a mark, with a white rim that parts it from lines and shade.
pub(super) fn dots(places: &[DVec2]) -> Vec<Item> {
    let disc = |at: &DVec2, radius: f64, color: [u8; 3]| {
        let corner =
            |k: i32| *at + radius * DVec2::from_angle(f64::from(k) * std::f64::consts::TAU / 24.0);
        Item::Area(Area { outline: (0..24).map(corner).collect(), color })
    };
    let white = places.iter().map(|at| disc(at, 1.05, [255; 3]));
    white.chain(places.iter().map(|at| disc(at, 0.7, [0; 3]))).collect()
}

/// A ring around a place.
pub(super) fn ring(at: DVec2) -> Item {
    let knots = [-1.0, 1.0]
        .map(|side| geometry::drawing::Knot { at: at + DVec2::X * 2.2 * side, bulge: 1.0 });
    let curve = Curve { knots: knots.to_vec(), closed: true };
    Item::Path(Path { layer: Layer::Cut, stroke: Stroke::Solid, curve })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn boxes_never_overlap_and_stay_within() {
        let widths = [20.0, 12.0, 25.0, 18.0, 30.0, 9.0];
        for wanted in [
            [50.0; 6],
            [0.0, 1.0, 2.0, 3.0, 4.0, 5.0],
            [160.0, 161.0, 165.0, 168.0, 169.0, 170.0],
            [10.0, 50.0, 52.0, 90.0, 140.0, 141.0],
        ] {
            let middles = spread(&wanted, &widths, 0.0, 170.0);
            for i in 0..6 {
                let (low, high) = (middles[i] - widths[i] / 2.0, middles[i] + widths[i] / 2.0);
                assert!(low >= -1e-9 && high <= 170.0 + 1e-9, "{middles:?}");
                if i > 0 {
                    assert!(
                        low - middles[i - 1] - widths[i - 1] / 2.0 >= GAP - 1e-9,
                        "{middles:?}"
                    );
                }
            }
        }
        let apart = spread(&[10.0, 60.0], &[5.0, 5.0], 0.0, 100.0);
        assert_eq!(apart, [10.0, 60.0], "what has room stays where it is wanted");
    }
}
