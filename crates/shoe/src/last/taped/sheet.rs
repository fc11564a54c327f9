//! Reading a sheet of tape measures, TOML as in [`BLANK`].

use toml_edit::{Document, Item, Value};

use super::entries::{TapeMeasures, Toe};
use crate::foot::Foot;
use crate::size::Size;
use crate::toml_text::{line_of, number};

/// A sheet to fill in.
pub const BLANK: &str = "\
# Tape measures of a last, in millimetres. Lines that start with # are remarks; take the # away
# and write your value. What is not written follows the rest, in usual proportions.

foot = \"right\"  # or \"left\"
size = \"EU 39\"  # with its system: EU, UK, UK child, US men, US women, JP, ...
# Instead of a size: its standard last length.
# standard_last_length = 260.0

# Overall, from the rearmost to the foremost point, the last standing on its heel height.
# length = 260.0
toe = \"round\"  # or \"almond\", \"square\", \"pointed\"
# How much longer the last is than its standard length, all of it in front of the joints.
# toe_extension = 0.0

# Girths, with a taut tape:
# ball_girth = 225.0  # upright, over both joints
# waist_girth = 215.0  # straight across, half-way from the ball to the instep
# instep_girth = 213.0  # straight across, 0.3 of the way from seat to ball behind the ball
# long_heel_girth = 336.0  # round the rear lower corner of the seat and over the instep
# short_heel_girth = 290.0  # likewise, over the throat, where it is shortest

# Across the bottom, from feather edge to feather edge:
# seat_width = 58.3
# tread_width = 79.8

heel_height = 25.0  # of the seat above the ground
# toe_spring = 12.0  # of the tip of the bottom above the ground

# Up the back: height above the seat, and how far in front of the seat point the back is there
# (negative: behind it). Three heights at most.
# back_curve = [[20.0, -6.6], [40.0, -4.8], [60.0, 0.0]]

# edge_radius = 1.5  # of the edge between wall and bottom; 0 is sharp
";

/// A line of a sheet that cannot be used.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[error("line {line}: {what}")]
pub struct SheetError {
    /// Counted from 1.
    pub line: usize,
    /// What is wrong, and the mend.
    pub what: String,
}

/// The keys of a sheet that hold one number, in mm.
const NUMBERS: [&str; 13] = [
    "standard_last_length",
    "length",
    "toe_extension",
    "ball_girth",
    "waist_girth",
    "instep_girth",
    "long_heel_girth",
    "short_heel_girth",
    "seat_width",
    "tread_width",
    "heel_height",
    "toe_spring",
    "edge_radius",
];

/// The other keys.
const OTHERS: [&str; 4] = ["foot", "size", "toe", "back_curve"];

/// A size and its own length may differ by what rounding takes, mm.
const SAME_LENGTH: f64 = 0.5;

/// Reads a sheet. Also the size, where it names one.
///
/// # Errors
/// Names the line and the mend.
pub fn read_sheet(text: &str) -> Result<(TapeMeasures, Option<Size>), SheetError> {
    let document = Document::parse(text).map_err(|error| SheetError {
        line: error.span().map_or(1, |span| line_of(text, span.start)),
        what: format!("{}; write it as: ball_girth = 225.0", error.message().replace('\n', ", ")),
    })?;
    let sheet = Sheet { text, document: &document };
    for (key, item) in document.iter() {
        if !NUMBERS.contains(&key) && !OTHERS.contains(&key) {
            let slip = |known: &&&str| strsim::damerau_levenshtein(key, known);
            let near =
                NUMBERS.iter().chain(&OTHERS).min_by_key(slip).filter(|known| slip(known) < 4);
            let mend = match near {
                Some(near) => format!("did you mean \"{near}\"?"),
                None => format!(
                    "a sheet knows {}",
                    NUMBERS.into_iter().chain(OTHERS).collect::<Vec<_>>().join(", ")
                ),
            };
            return Err(sheet.wrong(item, format!("\"{key}\" is no measure; {mend}")));
        }
    }
    let number = |key| sheet.number(key);
    let foot = match sheet.word("foot", &["left", "right"])? {
        Some("left") => Foot::Left,
        Some(_) => Foot::Right,
        None => {
            return Err(SheetError {
                line: 1,
                what: "no foot; write foot = \"right\" or foot = \"left\"".into(),
            });
        }
    };
    let toe = match sheet.word("toe", &Toe::WORDS.map(|(word, _)| word))? {
        None => Toe::Round,
        Some(word) => {
            Toe::WORDS.iter().find(|known| known.0 == word).map_or(Toe::Round, |known| known.1)
        }
    };
    let size = sheet.size()?;
    let (length, toe_extension) = (number("length")?, number("toe_extension")?);
    let of_size = size.map(|size| size.standard_last_length().get());
    let standard_last_length = match (of_size, number("standard_last_length")?, length) {
        (Some(of_size), Some(given), _) if (of_size - given).abs() > SAME_LENGTH => {
            let what = format!(
                "standard_last_length is {given} mm, but that of the size is {of_size:.1} mm; leave one \
                 of them away"
            );
            return Err(sheet.wrong(&document["standard_last_length"], what));
        }
        (Some(sll), ..) | (None, Some(sll), _) => sll,
        (None, None, Some(length)) => toe_extension
            .map_or_else(|| toe.standard_length_of(length), |extension| length - extension),
        (None, None, None) => {
            let what = "neither size nor length; write size = \"EU 39\" or length = 260.0".into();
            return Err(SheetError { line: 1, what });
        }
    };
    let measures = TapeMeasures {
        foot,
        standard_last_length,
        toe,
        toe_extension,
        length,
        ball_girth: number("ball_girth")?,
        waist_girth: number("waist_girth")?,
        instep_girth: number("instep_girth")?,
        long_heel_girth: number("long_heel_girth")?,
        short_heel_girth: number("short_heel_girth")?,
        seat_width: number("seat_width")?,
        tread_width: number("tread_width")?,
        heel_height: number("heel_height")?,
        toe_spring: number("toe_spring")?,
        back_curve: sheet.back_curve()?,
        edge_radius: number("edge_radius")?,
    };
    Ok((measures, size))
}

struct Sheet<'a> {
    text: &'a str,
    document: &'a Document<&'a str>,
}

impl<'a> Sheet<'a> {
    fn wrong(&self, item: &Item, what: String) -> SheetError {
        SheetError { line: item.span().map_or(1, |span| line_of(self.text, span.start)), what }
    }

    fn number(&self, key: &str) -> Result<Option<f64>, SheetError> {
        let Some(item) = self.document.get(key) else { return Ok(None) };
        match item.as_value().and_then(number) {
            Some(number) => Ok(Some(number)),
            None => Err(self.wrong(
                item,
                format!("{key} is no number; write mm, such as 225.0, without quotes and unit"),
            )),
        }
    }

    fn word(&self, key: &str, words: &[&str]) -> Result<Option<&'a str>, SheetError> {
        let Some(item) = self.document.get(key) else { return Ok(None) };
        match item.as_str() {
            Some(word) if words.contains(&word) => Ok(Some(word)),
            _ => {
                let words: Vec<String> = words.iter().map(|word| format!("\"{word}\"")).collect();
                Err(self.wrong(item, format!("{key} is one of {}, in quotes", words.join(", "))))
            }
        }
    }

    fn size(&self) -> Result<Option<Size>, SheetError> {
        let Some(item) = self.document.get("size") else { return Ok(None) };
        let text = item.as_str().map(str::to_owned).or(item.as_integer().map(|n| n.to_string()));
        match text {
            Some(text) => {
                text.parse().map(Some).map_err(|cause| self.wrong(item, format!("size: {cause}")))
            }
            None => Err(self.wrong(item, "size is a text such as \"EU 39\", in quotes".into())),
        }
    }

    fn back_curve(&self) -> Result<Vec<(f64, f64)>, SheetError> {
        let Some(item) = self.document.get("back_curve") else { return Ok(Vec::new()) };
        let pair = |value: &Value| match value.as_array()?.iter().map(number).collect::<Vec<_>>()[..]
        {
            [Some(height), Some(back)] => Some((height, back)),
            _ => None,
        };
        item.as_array().and_then(|list| list.iter().map(pair).collect()).ok_or_else(|| {
            let what = "back_curve is a list of pairs, height above the seat and how far in front of it, \
                        such as [[20.0, -6.5], [40.0, -5.0], [60.0, 0.0]]";
            self.wrong(item, what.into())
        })
    }
}
