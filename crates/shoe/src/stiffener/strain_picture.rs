//! A picture of the strain on the flat piece: where the material must stretch on the last, and
//! where it has fullness.

use geometry::drawing::{Area, Drawing, Item, Layer, Path, Stroke};

use super::{Stiffener, piece};

/// One class of strain: from this percentage on, towards the ends of the scale.
struct Class {
    from: f64,
    color: [u8; 3],
}

/// Stretch in oranges, fullness in purples: they differ in lightness from the middle and in hue
/// for every kind of colour blindness. The scheme PuOr of ColorBrewer (C. Brewer, 2003), quoted
/// from memory.
const STRETCH: [Class; 4] = [
    Class { from: 1.0, color: [254, 224, 182] },
    Class { from: 2.0, color: [253, 184, 99] },
    Class { from: 4.0, color: [224, 130, 20] },
    Class { from: 8.0, color: [179, 88, 6] },
];
const FULLNESS: [Class; 4] = [
    Class { from: 1.0, color: [216, 218, 235] },
    Class { from: 2.0, color: [178, 171, 210] },
    Class { from: 4.0, color: [128, 115, 172] },
    Class { from: 8.0, color: [84, 39, 136] },
];
const CALM: [u8; 3] = [247, 247, 247];

/// What the material of one triangle must do on the last, in percent: positive stretches,
/// negative is fullness; the larger of its two directions. `singular` are the factors by which
/// the triangle's lengths change from the last to the flat piece.
pub fn on_the_last(singular: [f64; 2]) -> f64 {
    let strains = singular.map(|s| 100.0 * (1.0 / s - 1.0));
    if strains[0].abs() >= strains[1].abs() { strains[0] } else { strains[1] }
}

fn color(percent: f64) -> [u8; 3] {
    let classes = if percent >= 0.0 { &STRETCH } else { &FULLNESS };
    let class = classes.iter().rev().find(|c| percent.abs() >= c.from);
    class.map_or(CALM, |c| c.color)
}

/// The flat piece with each triangle of the wall in the colour of its strain, and the outline.
pub fn draw(stiffener: &Stiffener) -> Drawing {
    let wall = &stiffener.wall;
    let mut items: Vec<Item> = wall
        .neutral
        .triangles
        .iter()
        .zip(&wall.strain.singular_values)
        .map(|(t, singular)| {
            let outline = t.map(|v| wall.flat[v as usize]).to_vec();
            Item::Area(Area { outline, color: color(on_the_last(*singular)) })
        })
        .collect();
    let curve = piece::outline(stiffener);
    items.push(Item::Path(Path { layer: Layer::Cut, stroke: Stroke::Solid, curve }));
    Drawing { title: "Strain of the flat piece on the last".into(), items }
}

/// The colours with their meaning, from most stretch to most fullness.
pub fn legend() -> Vec<([u8; 3], String)> {
    let words = |classes: &[Class; 4], i: usize, what: &str| match classes.get(i + 1) {
        Some(next) => format!("{what} {:.0} to {:.0} %", classes[i].from, next.from),
        None => format!("{what} over {:.0} %", classes[i].from),
    };
    let mut entries: Vec<([u8; 3], String)> =
        (0..4).rev().map(|i| (STRETCH[i].color, words(&STRETCH, i, "stretch"))).collect();
    entries.push((CALM, "under 1 %".into()));
    entries.extend((0..4).map(|i| (FULLNESS[i].color, words(&FULLNESS, i, "fullness"))));
    entries
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Relative luminance (sRGB weights of ITU-R BT.709, from memory) falls from the middle to
    /// both ends: the order can be read without any colour at all.
    #[test]
    fn classes_darken_from_the_middle() {
        let light = |c: [u8; 3]| {
            0.2126 * f64::from(c[0]) + 0.7152 * f64::from(c[1]) + 0.0722 * f64::from(c[2])
        };
        for classes in [&STRETCH, &FULLNESS] {
            let mut before = light(CALM);
            for class in classes {
                assert!(light(class.color) < before - 12.0, "{:?}", class.color);
                before = light(class.color);
            }
        }
    }

    #[test]
    fn shrinking_onto_the_flat_means_stretching_on_the_last() {
        assert!((on_the_last([1.0, 1.0 / 1.05]) - 5.0).abs() < 1e-9);
        assert!((on_the_last([1.0 / 0.96, 1.0]) + 4.0).abs() < 1e-9);
        assert_eq!(color(5.0), STRETCH[2].color);
        assert_eq!(color(-0.4), CALM);
        assert_eq!(legend().len(), 9);
    }
}
