//! A picture of the strain on the flat piece: where the material must stretch on the last, and
//! where it has fullness.

use geometry::drawing::{Area, Drawing, Item, Layer, Path, Stroke};

use super::{Stiffener, piece};
use crate::scale::Scale;

/// Strain in percent.
const STRAIN: Scale =
    Scale { from: [1.0, 2.0, 4.0, 8.0], unit: "%", names: ["stretch", "fullness"] };

/// What the material of one triangle must do on the last, in percent: positive stretches,
/// negative is fullness; the larger of its two directions. `singular` are the factors by which
/// the triangle's lengths change from the last to the flat piece.
pub fn on_the_last(singular: [f64; 2]) -> f64 {
    let strains = singular.map(|s| 100.0 * (1.0 / s - 1.0));
    if strains[0].abs() >= strains[1].abs() { strains[0] } else { strains[1] }
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
            Item::Area(Area { outline, color: STRAIN.color(on_the_last(*singular)) })
        })
        .collect();
    let curve = piece::outline(stiffener);
    items.push(Item::Path(Path { layer: Layer::Cut, stroke: Stroke::Solid, curve }));
    Drawing { title: "Strain of the flat piece on the last".into(), items }
}

/// The colours with their meaning, from most stretch to most fullness.
pub fn legend() -> Vec<([u8; 3], String)> {
    STRAIN.legend()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shrinking_onto_the_flat_means_stretching_on_the_last() {
        assert!((on_the_last([1.0, 1.0 / 1.05]) - 5.0).abs() < 1e-9);
        assert!((on_the_last([1.0 / 0.96, 1.0]) + 4.0).abs() < 1e-9);
        let words: Vec<String> = legend().into_iter().map(|(_, words)| words).collect();
        assert_eq!(words[0], "stretch over 8 %");
        assert_eq!((words[4].as_str(), words[5].as_str()), ("under 1 %", "fullness 1 to 2 %"));
    }
}
