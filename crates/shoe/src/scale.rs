//! Colours for what may lie to either side of nought: strain, or the difference of two lasts.

/// Colours from the middle outward for what lies above and below nought: they differ in lightness
/// from the middle and in hue for every kind of colour blindness. The scheme PuOr of ColorBrewer
/// (C. Brewer, 2003), quoted from memory.
const ABOVE: [[u8; 3]; 4] = [[254, 224, 182], [253, 184, 99], [224, 130, 20], [179, 88, 6]];
const BELOW: [[u8; 3]; 4] = [[216, 218, 235], [178, 171, 210], [128, 115, 172], [84, 39, 136]];
const MIDDLE: [u8; 3] = [247, 247, 247];

/// A scale of nine classes.
#[derive(Debug, Clone, Copy)]
pub struct Scale {
    /// From where on each class begins, ascending.
    pub from: [f64; 4],
    /// The unit, for people.
    pub unit: &'static str,
    /// What lies above and below nought is called.
    pub names: [&'static str; 2],
}

impl Scale {
    /// The colour of a value.
    pub fn color(&self, value: f64) -> [u8; 3] {
        let colors = if value >= 0.0 { &ABOVE } else { &BELOW };
        let class = self.from.iter().rposition(|from| value.abs() >= *from);
        class.map_or(MIDDLE, |class| colors[class])
    }

    /// The colours with their meaning, from most above to most below.
    pub fn legend(&self) -> Vec<([u8; 3], String)> {
        let words = |i: usize, what: &str| match self.from.get(i + 1) {
            Some(next) => format!("{what} {} to {next} {}", self.from[i], self.unit),
            None => format!("{what} over {} {}", self.from[i], self.unit),
        };
        let above = (0..4).rev().map(|i| (ABOVE[i], words(i, self.names[0])));
        let middle = (MIDDLE, format!("under {} {}", self.from[0], self.unit));
        let below = (0..4).map(|i| (BELOW[i], words(i, self.names[1])));
        above.chain([middle]).chain(below).collect()
    }
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
        for colors in [ABOVE, BELOW] {
            let mut before = light(MIDDLE);
            for color in colors {
                assert!(light(color) < before - 12.0, "{color:?}");
                before = light(color);
            }
        }
    }
}
