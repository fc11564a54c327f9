//! How many people's ankles the edge would reach, as a curve over what nobody measured: how far the
//! border of the bone lies below its surveyed point.

use geometry::drawing::{Anchor, Curve, Drawing, Item, Layer, Path, Stroke, Text};
use glam::DVec2;

use super::ankles::{AnkleSide, Ankles, Share};
use crate::survey::{AnkleSurvey, Sex};

/// The drops shown, mm, and the room of one mm and of one per cent on paper, mm.
const DROPS: f64 = 25.0;
const PER_DROP: f64 = 4.4;
const PER_CENT: f64 = 0.45;

/// Height of words, and the least between two of them, mm.
const WORDS: f64 = 2.5;
const APART: f64 = 4.0;

/// The curves of every survey that has something to say; none where none has.
pub fn draw(ankles: &Ankles) -> Option<Drawing> {
    let curves: Vec<(&AnkleSide, &Share)> =
        ankles.sides.iter().flat_map(|on| on.shares.iter().map(move |s| (on, s))).collect();
    if curves.is_empty() {
        return None;
    }
    let mut items = axes(ankles.drop);
    let mut ends: Vec<(f64, String)> = Vec::new();
    for (on, share) in curves {
        let Some(survey) = AnkleSurvey::of(share.sex, on.side) else { continue };
        let percent =
            |drop: f64| 100.0 * survey.share_touched(on.edge_height, drop, ankles.foot_length);
        let place = |drop: f64| DVec2::new(PER_DROP * drop, PER_CENT * percent(drop));
        let points = (0..=100).map(|i| place(DROPS * f64::from(i) / 100.0));
        items.push(line(stroke_of(share.sex, on), Curve::polyline(points, false)));
        ends.push((
            PER_CENT * percent(DROPS),
            format!("{}, {}: {:.1} %", share.sex, on.side, share.percent),
        ));
    }
    // Names at the right ends of their curves, pushed apart from below.
    ends.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut least = f64::NEG_INFINITY;
    for (height, name) in ends {
        let y = height.max(least);
        least = y + APART;
        items.push(words(DVec2::new(PER_DROP * DROPS + 2.0, y - 1.0), Anchor::Start, &name));
    }
    Some(Drawing { title: "Ankles by survey".into(), items })
}

const fn stroke_of(sex: Sex, on: &AnkleSide) -> Stroke {
    match (on.side, sex) {
        (crate::foot::Side::Lateral, Sex::Women) => Stroke::Solid,
        (crate::foot::Side::Lateral, Sex::Men) => Stroke::Dashed,
        (crate::foot::Side::Medial, _) => Stroke::Chain,
    }
}

fn axes(drop: f64) -> Vec<Item> {
    let (wide, high) = (PER_DROP * DROPS, PER_CENT * 100.0);
    let through = |points: [DVec2; 2]| line(Stroke::Solid, Curve::polyline(points, false));
    let mut items = vec![
        through([DVec2::ZERO, DVec2::X * wide]),
        through([DVec2::ZERO, DVec2::Y * high]),
        words(
            DVec2::new(wide / 2.0, -9.5),
            Anchor::Middle,
            "mm from the surveyed point of the ankle down to the border of the bone",
        ),
        words(DVec2::new(0.0, high + 2.0), Anchor::Start, "% of people whom the edge would reach"),
    ];
    for i in 0..=5_u8 {
        let x = PER_DROP * DROPS * f64::from(i) / 5.0;
        items.push(through([DVec2::new(x, 0.0), DVec2::new(x, -1.2)]));
        let number = (DROPS * f64::from(i) / 5.0).to_string();
        items.push(words(DVec2::new(x, -5.0), Anchor::Middle, &number));
        let y = high * f64::from(i) / 5.0;
        items.push(through([DVec2::new(0.0, y), DVec2::new(-1.2, y)]));
        items.push(words(DVec2::new(-2.0, y - 1.0), Anchor::End, &(20 * i).to_string()));
    }
    if drop <= DROPS {
        let x = PER_DROP * drop;
        items.push(line(
            Stroke::Dashed,
            Curve::polyline(
                [x, x].into_iter().zip([0.0, high]).map(|(x, y)| DVec2::new(x, y)),
                false,
            ),
        ));
        items.push(words(
            DVec2::new(x + 1.0, high - 3.5),
            Anchor::Start,
            &format!("taken: {drop:.1}"),
        ));
    }
    items
}

fn line(stroke: Stroke, curve: Curve) -> Item {
    Item::Path(Path { layer: Layer::Mark, stroke, curve })
}

fn words(at: DVec2, anchor: Anchor, content: &str) -> Item {
    let content = content.into();
    Item::Text(Text { layer: Layer::Text, at, height: WORDS, angle: 0.0, anchor, content })
}
