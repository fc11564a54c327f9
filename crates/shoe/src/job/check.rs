//! Reads the text of `job.toml`: every key known, every value within its range.

use std::ops::Range;

use toml_edit::{Document, Item, TableLike, Value};

use super::error::SettingsError;
use super::keys::{self, Holds, Key};
use super::settings::Job;
use super::{SCHEMA, upgrade};
use crate::size::Size;
use crate::size::fitting::Fitting;
use crate::toml_text::{line_of, number};

/// Coordinates beyond this are no scan in any unit.
const FARTHEST: f64 = 1e6;

/// How far the rows of a pose may be from an even scale times a rotation, relative.
const POSE_TOLERANCE: f64 = 1e-6;

impl Job {
    /// Reads settings from the text of `job.toml`; `file` names it in messages.
    ///
    /// # Errors
    /// When the text is not TOML, was written by a newer version, lacks or misspells a key,
    /// or holds a value outside its range.
    pub fn from_toml(text: &str, file: &str) -> Result<Job, SettingsError> {
        read(text, file).map(|(job, _)| job)
    }
}

/// Reads settings; the text comes back changed only where an older layout was upgraded.
pub(super) fn read(text: &str, file: &str) -> Result<(Job, String), SettingsError> {
    let document = Document::parse(text).map_err(|e| not_toml(text, file, &e))?;
    let found = schema(&document, text, file)?;
    if found < SCHEMA {
        let mut older = document.into_mut();
        upgrade::upgrade(&mut older, found, upgrade::STEPS);
        let text = older.to_string();
        let job = checked(&text, file)?;
        return Ok((job, text));
    }
    Ok((checked(text, file)?, text.to_owned()))
}

fn checked(text: &str, file: &str) -> Result<Job, SettingsError> {
    let document = Document::parse(text).map_err(|e| not_toml(text, file, &e))?;
    let at = Place { text, file };
    at.table(document.as_table(), "")?;
    for key in keys::REQUIRED {
        if item_at(document.as_item(), key).is_none() {
            return Err(at.missing(key));
        }
    }
    let scale =
        item_at(document.as_item(), "last.unit").zip(item_at(document.as_item(), "last.pose"));
    if let Some((unit, pose)) = scale {
        at.scale_fits_unit(unit, pose)?;
    }
    let fitting =
        item_at(document.as_item(), "last.size").zip(item_at(document.as_item(), "last.fitting"));
    if let Some((size, fitting)) = fitting {
        at.fitting_of_system(size, fitting)?;
    }
    toml_edit::de::from_str(text).map_err(|e| SettingsError::NotToml {
        file: file.to_owned(),
        line: e.span().map_or(1, |s| line_of(text, s.start)),
        message: e.message().to_owned(),
    })
}

pub(super) fn not_toml(text: &str, file: &str, error: &toml_edit::TomlError) -> SettingsError {
    SettingsError::NotToml {
        file: file.to_owned(),
        line: error.span().map_or(1, |s| line_of(text, s.start)),
        message: error.message().replace('\n', ", "),
    }
}

fn schema(document: &Document<&str>, text: &str, file: &str) -> Result<i64, SettingsError> {
    let at = Place { text, file };
    let item = document.get("schema").ok_or_else(|| at.missing("schema"))?;
    match item.as_integer() {
        Some(found) if found > SCHEMA => {
            Err(SettingsError::Newer { file: file.to_owned(), found, known: SCHEMA })
        }
        Some(found) if found >= 1 => Ok(found),
        _ => Err(at.not_allowed("schema", Holds::Schema, item.span(), shown(item))),
    }
}

/// The item at a path of keys joined by dots.
pub(super) fn item_at<'a>(root: &'a Item, path: &str) -> Option<&'a Item> {
    path.split('.').try_fold(root, |item, part| item.as_table_like()?.get(part))
}

/// Where messages point.
#[derive(Clone, Copy)]
struct Place<'a> {
    text: &'a str,
    file: &'a str,
}

impl Place<'_> {
    fn table(self, table: &dyn TableLike, path: &str) -> Result<(), SettingsError> {
        for (name, item) in table.iter() {
            let path = if path.is_empty() { name.to_owned() } else { format!("{path}.{name}") };
            if let Some(key) = keys::find(&path) {
                self.value(key, item)?;
            } else if keys::is_table(&path) {
                let inner = item.as_table_like().ok_or_else(|| SettingsError::NotAllowed {
                    file: self.file.to_owned(),
                    line: self.line(item.span()),
                    key: path.clone(),
                    found: shown(item),
                    expected: format!("a table [{path}]"),
                })?;
                self.table(inner, &path)?;
            } else {
                let span = table.key(name).and_then(|k| k.span()).or_else(|| item.span());
                return Err(SettingsError::UnknownKey {
                    file: self.file.to_owned(),
                    line: self.line(span),
                    near: keys::nearest(&path).map(str::to_owned),
                    key: path,
                });
            }
        }
        Ok(())
    }

    fn value(self, key: &Key, item: &Item) -> Result<(), SettingsError> {
        if allowed(key.holds, item) {
            return Ok(());
        }
        let written = match item.as_value() {
            Some(Value::String(text)) => Some(text.value().clone()),
            Some(Value::Integer(number)) => Some(number.value().to_string()),
            _ => None,
        };
        if matches!(key.holds, Holds::Size)
            && let Some(Err(cause)) = written.map(|text| text.parse::<Size>())
        {
            let (file, line) = (self.file.to_owned(), self.line(item.span()));
            return Err(SettingsError::Size { file, line, key: key.path.to_owned(), cause });
        }
        Err(self.not_allowed(key.path, key.holds, item.span(), shown(item)))
    }

    /// The scale within a pose is millimetres per unit, so the two must agree.
    fn scale_fits_unit(self, unit: &Item, pose: &Item) -> Result<(), SettingsError> {
        let per_unit = geometry::units::Unit::ALL
            .into_iter()
            .find(|u| unit.as_str() == Some(&u.to_string()))
            .map(geometry::units::Unit::in_mm);
        let scale = pose_rows(pose).map(|rows| row_length(&rows[0]));
        match per_unit.zip(scale) {
            Some((per_unit, scale)) if (scale / per_unit - 1.0).abs() > POSE_TOLERANCE => {
                Err(SettingsError::NotAllowed {
                    file: self.file.to_owned(),
                    line: self.line(pose.span()),
                    key: "last.pose".to_owned(),
                    found: format!("scaled by {scale}"),
                    expected: format!(
                        "{per_unit}, the millimetres in the \"last.unit\" of the file; correct one of the two or remove the pose"
                    ),
                })
            }
            _ => Ok(()),
        }
    }

    /// Every system has its own fittings.
    fn fitting_of_system(self, size: &Item, fitting: &Item) -> Result<(), SettingsError> {
        let size = size.as_str().and_then(|text| text.parse::<Size>().ok());
        let Some((size, text)) = size.zip(fitting.as_str()) else { return Ok(()) };
        Fitting::read(size.system(), text).map(|_| ()).map_err(|cause| SettingsError::Fitting {
            file: self.file.to_owned(),
            line: self.line(fitting.span()),
            cause,
        })
    }

    fn missing(self, key: &str) -> SettingsError {
        SettingsError::Missing {
            file: self.file.to_owned(),
            key: key.to_owned(),
            expected: keys::find(key).map(|k| k.holds.in_words()).unwrap_or_default(),
        }
    }

    fn not_allowed(
        self,
        key: &str,
        holds: Holds,
        span: Option<Range<usize>>,
        found: String,
    ) -> SettingsError {
        SettingsError::NotAllowed {
            file: self.file.to_owned(),
            line: self.line(span),
            key: key.to_owned(),
            found,
            expected: holds.in_words(),
        }
    }

    fn line(self, span: Option<Range<usize>>) -> usize {
        span.map_or(1, |s| line_of(self.text, s.start))
    }
}

/// A value as a message shows it: as written, cut short.
fn shown(item: &Item) -> String {
    let text = match item {
        Item::Value(value) => value.to_string().split_whitespace().collect::<Vec<_>>().join(" "),
        Item::Table(_) | Item::ArrayOfTables(_) => "a table".to_owned(),
        Item::None => "empty".to_owned(),
    };
    if text.chars().count() > 60 {
        text.chars().take(57).chain("...".chars()).collect()
    } else {
        text
    }
}

fn allowed(holds: Holds, item: &Item) -> bool {
    match holds {
        Holds::Schema => item.as_integer().is_some(),
        Holds::Line => item.as_str().is_some_and(is_line),
        Holds::FileName => item.as_str().is_some_and(is_file_name),
        Holds::Size => item.as_str().is_some_and(|s| s.parse::<Size>().is_ok()),
        Holds::OneOf(words) => item.as_str().is_some_and(|s| words.contains(&s)),
        Holds::Flag => item.as_bool().is_some(),
        Holds::Count(least, most) => {
            item.as_integer().is_some_and(|n| (least.into()..=most.into()).contains(&n))
        }
        Holds::Length(least, most) => within(item.as_value().and_then(number), (least, most)),
        Holds::Point => item.as_value().and_then(point).is_some(),
        Holds::Points => item
            .as_array()
            .is_some_and(|list| list.len() >= 3 && list.iter().all(|value| point(value).is_some())),
        Holds::Pose => pose_rows(item).is_some_and(|rows| is_pose(&rows)),
        Holds::Heights => heights(item),
    }
}

fn is_line(text: &str) -> bool {
    text.chars().count() <= 500 && !text.chars().any(char::is_control)
}

fn is_file_name(text: &str) -> bool {
    is_line(text)
        && !text.is_empty()
        && !text.contains(['/', '\\', ':'])
        && !text.starts_with('.')
        && !["job.toml", "history.jsonl"].contains(&text)
}

fn within(number: Option<f64>, (least, most): (f64, f64)) -> bool {
    number.is_some_and(|n| (least..=most).contains(&n))
}

fn point(value: &Value) -> Option<[f64; 3]> {
    let list = value.as_array()?;
    let xyz: Vec<f64> = list.iter().filter_map(number).filter(|n| n.abs() <= FARTHEST).collect();
    (list.len() == 3).then(|| xyz.try_into().ok()).flatten()
}

fn pose_rows(item: &Item) -> Option<[[f64; 4]; 4]> {
    let rows: Vec<[f64; 4]> = item
        .as_array()?
        .iter()
        .map(|row| {
            let row = row.as_array()?;
            let numbers: Vec<f64> = row.iter().filter_map(number).collect();
            if row.len() == 4 { numbers.try_into().ok() } else { None }
        })
        .collect::<Option<_>>()?;
    rows.try_into().ok()
}

fn row_length(row: &[f64; 4]) -> f64 {
    (row[0] * row[0] + row[1] * row[1] + row[2] * row[2]).sqrt()
}

/// A rotation with an even scale and a shift; no mirror, no shear.
fn is_pose(rows: &[[f64; 4]; 4]) -> bool {
    let [x, y, z, last] = rows;
    let scale = row_length(x);
    let dot =
        |a: &[f64; 4], b: &[f64; 4]| (a[0] * b[0] + a[1] * b[1] + a[2] * b[2]) / scale.powi(2);
    let turn = x[0] * (y[1] * z[2] - y[2] * z[1]) - x[1] * (y[0] * z[2] - y[2] * z[0])
        + x[2] * (y[0] * z[1] - y[1] * z[0]);
    let near = |a: f64, b: f64| (a - b).abs() <= POSE_TOLERANCE;
    *last == [0.0, 0.0, 0.0, 1.0]
        && (1e-6..=1e6).contains(&scale)
        && near(dot(y, y), 1.0)
        && near(dot(z, z), 1.0)
        && near(dot(x, y), 0.0)
        && near(dot(x, z), 0.0)
        && near(dot(y, z), 0.0)
        && turn > 0.0
        && rows.iter().flatten().all(|n| n.abs() <= FARTHEST)
}

fn heights(item: &Item) -> bool {
    let entries: Vec<&dyn TableLike> = match item {
        Item::ArrayOfTables(tables) => tables.iter().map(|t| t as &dyn TableLike).collect(),
        Item::Value(Value::Array(list)) => {
            let inline: Vec<_> = list
                .iter()
                .filter_map(Value::as_inline_table)
                .map(|t| t as &dyn TableLike)
                .collect();
            if inline.len() != list.len() {
                return false;
            }
            inline
        }
        _ => return false,
    };
    let field = |entry: &dyn TableLike, name: &str| {
        entry.get(name).and_then(Item::as_value).and_then(number)
    };
    let rising = entries.windows(2).all(|pair| {
        matches!((field(pair[0], "along"), field(pair[1], "along")), (Some(a), Some(b)) if a < b)
    });
    rising
        && entries.iter().all(|entry| {
            entry.len() == 3
                && within(field(*entry, "along"), keys::ALONG)
                && within(field(*entry, "medial"), keys::TOPLINE)
                && within(field(*entry, "lateral"), keys::TOPLINE)
        })
}
