//! What a sheet is made of: how far it gives, which way it is stiffer, how thick it is.

mod words;

pub use words::MaterialError;

/// A sheet material. Its numbers describe the flat sheet when it is pulled onto the surface: it
/// stretches where the piece is smaller than the surface, and is compressed where it is larger.
///
/// Well within the limits it resists stretching and compression alike; from four fifths of a
/// limit on with an additional force, so that it gives elsewhere as long as it can. What is
/// compressed further than the sheet takes stands up in pipes or folds.
#[derive(Debug, Clone, PartialEq)]
pub struct Material {
    /// What it is called.
    pub name: String,
    /// Thickness, mm. The energy does not depend on it: the surface that is laid flat is the
    /// middle of the thickness.
    pub thickness: f64,
    /// How far it stretches, percent of its length; infinite for no limit. Where it stretches
    /// further in one direction than in another, the greater of the two.
    pub stretch: f64,
    /// How far it can be compressed, percent of its length; infinite for no limit.
    pub compress: f64,
    /// How many times as stiff it is along the grain as across it: 1 for the same both ways,
    /// below 1 where it is stiffer across.
    pub along: f64,
}

/// Leather with water in it, lasted wet: it stretches most across the back line of the hide,
/// and fullness can be worked in. Common practice, no source; hides differ.
const WET_LEATHER: Preset =
    Preset { name: "wet leather", thickness: 2.5, stretch: 10.0, compress: 4.0, along: 1.5 };
/// The same leather dry. Common practice, no source.
const DRY_LEATHER: Preset =
    Preset { name: "dry leather", thickness: 2.5, stretch: 4.0, compress: 1.0, along: 2.0 };
/// Fibreboard, damp: it stretches little and hardly compresses; its fibres lie along the run of
/// the sheet. Common practice, no source.
const BOARD: Preset =
    Preset { name: "board", thickness: 1.5, stretch: 3.0, compress: 1.0, along: 1.5 };
/// Thermoplastic sheet, hot, the same both ways. Common practice, no source.
const HOT_THERMOPLASTIC: Preset =
    Preset { name: "hot thermoplastic", thickness: 1.0, stretch: 20.0, compress: 10.0, along: 1.0 };

// The thicknesses: leather between its light and its heavy run; board and sheet within 0.6 to
// 3.0 mm, the range that an article by a maker of such sheet gives.
const PRESETS: [Preset; 4] = [WET_LEATHER, DRY_LEATHER, BOARD, HOT_THERMOPLASTIC];

/// A [`Material`] with a name that is always there.
struct Preset {
    name: &'static str,
    thickness: f64,
    stretch: f64,
    compress: f64,
    along: f64,
}

impl Preset {
    fn material(&self) -> Material {
        let &Preset { name, thickness, stretch, compress, along } = self;
        Material { name: name.into(), thickness, stretch, compress, along }
    }
}

impl Material {
    /// Where the numbers of the presets come from.
    pub const SOURCE: &str = "common practice, no source";

    /// Leather lasted wet.
    pub fn wet_leather() -> Self {
        WET_LEATHER.material()
    }

    /// Leather lasted dry.
    pub fn dry_leather() -> Self {
        DRY_LEATHER.material()
    }

    /// Fibreboard, damp.
    pub fn board() -> Self {
        BOARD.material()
    }

    /// Thermoplastic sheet, hot.
    pub fn hot_thermoplastic() -> Self {
        HOT_THERMOPLASTIC.material()
    }

    /// Every preset. Each number is common practice without a source, and meant to be changed
    /// for the sheet at hand.
    pub fn presets() -> impl Iterator<Item = Self> {
        PRESETS.iter().map(Preset::material)
    }

    /// Whether a triangle with these singular values from the surface to the plane is stretched
    /// or compressed beyond the limits.
    pub(crate) fn is_beyond(&self, singular_values: [f64; 2]) -> bool {
        self.times_limit(singular_values) > 1.0
    }

    /// How many times its limit such a triangle is stretched or compressed, the larger of both
    /// ways.
    pub(crate) fn times_limit(&self, singular_values: [f64; 2]) -> f64 {
        let [one, other] = singular_values.map(|s| {
            // The sheet is pulled onto the surface. No limit at all is never used up.
            let percent = 100.0 * (1.0 / s - 1.0);
            if percent > 0.0 { percent / self.stretch } else { -percent / self.compress }
        });
        one.max(other)
    }

    /// The factors between which its lengths may change from the flat piece to the surface.
    pub(crate) fn factors(&self) -> [f64; 2] {
        [1.0 + self.stretch / 100.0, 1.0 - self.compress / 100.0]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn limits_are_those_of_the_sheet_pulled_onto_the_surface() {
        let material = Material { stretch: 10.0, compress: 5.0, ..Material::board() };
        // The piece 1 mm where the surface is 1.09 or 1.11: stretched.
        assert!(!material.is_beyond([1.0, 1.0 / 1.09]) && material.is_beyond([1.0, 1.0 / 1.11]));
        // The surface 0.96 or 0.94 where the piece is 1 mm: compressed.
        assert!(!material.is_beyond([1.0 / 0.96, 1.0]) && material.is_beyond([1.0 / 0.94, 1.0]));
        let endless = Material { stretch: f64::INFINITY, compress: f64::INFINITY, ..material };
        assert!(!endless.is_beyond([1e9, 1e-9]));
    }

    #[test]
    fn presets_are_valid_and_found_by_name() {
        for preset in Material::presets() {
            assert_eq!(preset.check(), Ok(()));
            assert_eq!(preset.name.parse(), Ok(preset));
        }
    }
}
