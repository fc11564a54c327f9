//! A material as a bench worker writes it: `board,stretch=2,compress=0.5`.

use std::str::FromStr;

use super::Material;

/// The numbers of a material: key, what it is, least and greatest. The ranges catch a slip of
/// the finger, they are no advice.
const KEYS: [(&str, &str, f64, f64); 4] = [
    ("thickness", "in mm", 0.1, 10.0),
    ("stretch", "in percent", 0.1, 200.0),
    ("compress", "in percent", 0.1, 90.0),
    ("along", "how many times as stiff along the grain as across", 0.1, 10.0),
];

/// Why a text is no material.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum MaterialError {
    /// No preset has that name.
    #[error("\"{name}\" is no known material{}; known are {}", hint(.near), names())]
    UnknownName {
        /// What was given.
        name: String,
        /// The nearest name there is.
        near: Option<String>,
    },
    /// A part after the name is not `key=number`.
    #[error(
        "\"{part}\" is not of the form key=number, such as {example}; parts are separated by \
         commas, and a number has a point: 2.5"
    )]
    Form {
        /// What was given.
        part: String,
        /// What is likely meant.
        example: String,
    },
    /// No number of a material has that key.
    #[error("\"{key}\" is no number of a material{}; there are {}", hint(.near), keys())]
    UnknownKey {
        /// What was given.
        key: String,
        /// The nearest key there is.
        near: Option<String>,
    },
    /// A key is given twice.
    #[error("{key} is given twice")]
    Twice {
        /// The key.
        key: &'static str,
    },
    /// A value is no number, or not within what is possible.
    #[error("{key}={value}: {key} is a number from {least} to {most}, {what}{}", unless(.key))]
    Value {
        /// The key.
        key: &'static str,
        /// What was given.
        value: String,
        /// What the number says.
        what: &'static str,
        /// The least that is possible.
        least: f64,
        /// The most that is possible.
        most: f64,
    },
}

fn hint(near: &Option<String>) -> String {
    near.as_ref().map_or(String::new(), |near| format!(", did you mean \"{near}\"?"))
}

fn names() -> String {
    let names: Vec<String> = Material::presets().map(|m| m.name).collect();
    format!("{} and plain (no limits)", names.join(", "))
}

fn keys() -> String {
    KEYS.map(|(key, ..)| key).join(", ")
}

fn unless(key: &str) -> &'static str {
    if is_limit(key) { ", or none for no limit" } else { "" }
}

fn is_limit(key: &str) -> bool {
    matches!(key, "stretch" | "compress")
}

/// Small letters, words separated by one space, however they were joined.
fn plain(name: &str) -> String {
    let spaced = name.to_lowercase().replace(['-', '_'], " ");
    spaced.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// The known word nearest to `given`, when it differs by no more than a slip of the finger, or
/// is part of it.
fn nearest(given: &str, known: &[String]) -> Option<String> {
    let slips = |k: &String| strsim::damerau_levenshtein(given, k);
    let by_slip =
        known.iter().filter(|k| slips(k) <= 3.min(given.len() / 2)).min_by_key(|k| slips(k));
    let within = || known.iter().find(|k| given.len() > 2 && k.contains(given));
    by_slip.or_else(within).cloned()
}

impl FromStr for Material {
    type Err = MaterialError;

    /// A preset by name, then numbers of one's own: `board,stretch=2,compress=0.5`. The names
    /// are those of [`Material::presets`] and `plain`, which has no limits; words may be joined
    /// by spaces, hyphens or underscores.
    ///
    /// # Errors
    /// Names the part that is wrong, and the nearest right one.
    fn from_str(text: &str) -> Result<Self, MaterialError> {
        let mut parts = text.split(',').map(str::trim);
        let name = plain(parts.next().unwrap_or_default());
        let mut material = by_name(&name)?;
        let mut given = Vec::new();
        for part in parts {
            let (key, value) = part.split_once('=').ok_or_else(|| form(part))?;
            let (key, value) = (plain(key), value.trim());
            let known = KEYS.map(|(key, ..)| key.to_owned());
            let Some(at) = known.iter().position(|k| *k == key) else {
                return Err(MaterialError::UnknownKey { near: nearest(&key, &known), key });
            };
            let key = KEYS[at].0;
            if given.contains(&at) {
                return Err(MaterialError::Twice { key });
            }
            given.push(at);
            let number = match value.parse() {
                Ok(number) if f64::is_finite(number) => Some(number),
                Err(_) if is_limit(key) && plain(value) == "none" => Some(f64::INFINITY),
                _ => None,
            };
            *material.number(at) = number.ok_or_else(|| out_of_range(at, value))?;
            if !material.is_possible(at) {
                return Err(out_of_range(at, value));
            }
        }
        Ok(material)
    }
}

fn by_name(name: &str) -> Result<Material, MaterialError> {
    if name == "plain" {
        let none = f64::INFINITY;
        return Ok(Material {
            name: name.into(),
            thickness: 1.0,
            stretch: none,
            compress: none,
            along: 1.0,
        });
    }
    Material::presets().find(|m| m.name == name).ok_or_else(|| {
        let known: Vec<String> = Material::presets().map(|m| m.name).collect();
        MaterialError::UnknownName { near: nearest(name, &known), name: name.into() }
    })
}

/// The error for a part without `=`.
fn form(part: &str) -> MaterialError {
    let known = KEYS.map(|(key, ..)| key.to_owned());
    let word: String = part.chars().take_while(|c| c.is_alphabetic()).collect();
    let near = nearest(&plain(&word), &known).unwrap_or_else(|| "stretch".into());
    MaterialError::Form { part: part.into(), example: format!("{near}=2") }
}

fn out_of_range(at: usize, value: &str) -> MaterialError {
    let (key, what, least, most) = KEYS[at];
    MaterialError::Value { key, value: value.into(), what, least, most }
}

impl Material {
    /// The number of `KEYS[at]`.
    fn number(&mut self, at: usize) -> &mut f64 {
        match at {
            0 => &mut self.thickness,
            1 => &mut self.stretch,
            2 => &mut self.compress,
            _ => &mut self.along,
        }
    }

    fn is_possible(&self, at: usize) -> bool {
        let (key, _, least, most) = KEYS[at];
        let number = *self.clone().number(at);
        (least..=most).contains(&number) || (is_limit(key) && number == f64::INFINITY)
    }

    /// Whether every number is possible.
    ///
    /// # Errors
    /// Names the first that is not.
    pub fn check(&self) -> Result<(), MaterialError> {
        match (0..KEYS.len()).find(|at| !self.is_possible(*at)) {
            None => Ok(()),
            Some(at) => Err(out_of_range(at, &self.clone().number(at).to_string())),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_preset_with_numbers_of_ones_own() {
        let material: Material = "Board, stretch=2,compress = 0.5".parse().unwrap();
        assert_eq!(material, Material { stretch: 2.0, compress: 0.5, ..Material::board() });
        let wet: Material = "wet-leather,stretch=none".parse().unwrap();
        assert_eq!(wet, Material { stretch: f64::INFINITY, ..Material::wet_leather() });
        let plain: Material = "plain,along=3".parse().unwrap();
        assert_eq!((plain.along, plain.stretch), (3.0, f64::INFINITY));
    }

    #[test]
    fn mistakes_are_named_with_the_nearest_right_form() {
        let cases = [
            ("bord", "\"bord\" is no known material, did you mean \"board\"?"),
            ("leather", "did you mean \"wet leather\"?"),
            ("", "\"\" is no known material; known are wet leather, dry leather, board"),
            ("board,strech=2", "\"strech\" is no number of a material, did you mean \"stretch\"?"),
            ("board,colour=2", "there are thickness, stretch, compress, along"),
            ("board,stretch", "such as stretch=2"),
            ("board,stretch=2,5", "a number has a point: 2.5"),
            ("board,stretch 2", "such as stretch=2"),
            ("board,", "\"\" is not of the form key=number"),
            ("board,stretch=2,stretch=3", "stretch is given twice"),
            ("board,stretch=two", "stretch=two: stretch is a number from 0.1 to 200, in percent"),
            ("board,compress=0", "compress is a number from 0.1 to 90, in percent, or none"),
            ("board,compress=nan", "compress=nan: compress is a number"),
            ("board,along=none", "along is a number from 0.1 to 10, how many times as stiff"),
            ("board,thickness=-1", "thickness is a number from 0.1 to 10, in mm"),
        ];
        for (text, expected) in cases {
            let message = text.parse::<Material>().unwrap_err().to_string();
            assert!(message.contains(expected), "{text}: {message}");
        }
    }

    #[test]
    fn numbers_that_cannot_be_are_refused() {
        for (wrong, key) in [
            (Material { stretch: f64::NAN, ..Material::board() }, "stretch"),
            (Material { compress: -1.0, ..Material::board() }, "compress"),
            (Material { along: f64::INFINITY, ..Material::board() }, "along"),
        ] {
            assert!(wrong.check().unwrap_err().to_string().starts_with(key));
        }
    }
}
