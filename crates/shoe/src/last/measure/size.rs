//! The sizes nearest to a standard last length.

use crate::size::{Size, System};

/// Sizes for one standard last length.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NearestSizes {
    /// The user's size where it was given: it wins.
    pub given: Option<Size>,
    /// The nearest half size of the EU scale, where it is on the scale.
    pub eu: Option<Size>,
    /// The nearest half size of the UK scale, where it is on the scale.
    pub uk: Option<Size>,
}

impl NearestSizes {
    /// The sizes nearest to `length` mm.
    pub fn of(length: f64, given: Option<Size>) -> Self {
        let nearest = |system: System| Size::nearest(system, system.number_for_last(length));
        Self {
            given,
            eu: nearest(System::Eu),
            uk: nearest(System::Uk).or_else(|| nearest(System::UkChild)),
        }
    }

    /// In words: the user's size, or the nearest ones.
    pub fn words(&self) -> String {
        match (self.given, self.eu, self.uk) {
            (Some(size), ..) => size.to_string(),
            (None, Some(eu), Some(uk)) => format!("about {eu}, {uk}"),
            (None, Some(one), None) | (None, None, Some(one)) => format!("about {one}"),
            (None, None, None) => "on no scale".into(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sizes_are_the_nearest_of_their_scales() {
        // EU: two thirds of a centimetre a size; UK: a third of an inch, child 13 and a half
        // being followed by adult 1.
        let words = |length: f64| NearestSizes::of(length, None).words();
        assert_eq!(words(260.0), "about EU 39, UK 5.5");
        assert_eq!(words(39.0 * 20.0 / 3.0 + 1.0), "about EU 39, UK 6");
        assert_eq!(words(8.0 * 25.4), "about EU 30.5, UK child 12");
        assert_eq!(words((26.0 / 3.0) * 25.4), "about EU 33, UK 1");
        let given = "UK 6".parse().ok();
        assert_eq!(NearestSizes::of(260.0, given).words(), "UK 6");
    }
}
