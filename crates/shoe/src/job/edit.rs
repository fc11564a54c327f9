//! Changes one key in the text of `job.toml` and leaves every other byte as it was.

use toml_edit::{Array, Document, DocumentMut, InlineTable, Item, Table, TableLike, Value};

use super::check::item_at;

/// Sets the key at `path`, or removes it when `to` is null. The text must be valid TOML and
/// `path` a known key; tables on the way are made where missing.
pub(super) fn set(
    text: &str,
    path: &str,
    to: &serde_json::Value,
) -> Result<String, toml_edit::TomlError> {
    match toml_value(to) {
        Some(value) => insert(text, path, value),
        None => remove(text, path),
    }
}

/// The value at `path` as JSON, null when absent.
pub(super) fn get(text: &str, path: &str) -> Result<serde_json::Value, toml_edit::TomlError> {
    let document = Document::parse(text)?;
    Ok(item_at(document.as_item(), path).map_or(serde_json::Value::Null, json_of_item))
}

fn insert(text: &str, path: &str, mut value: Value) -> Result<String, toml_edit::TomlError> {
    let mut document: DocumentMut = text.parse()?;
    let (tables, name) = split(path);
    // Remarks at the end of the file stay there, before a table that is added behind them.
    let end = document.trailing().as_str().unwrap_or_default().to_owned();
    let mut added = false;
    let mut table: &mut dyn TableLike = document.as_table_mut();
    for part in tables {
        let inner = table.entry(part).or_insert_with(|| {
            added = true;
            Item::Table(last_table(&end))
        });
        table = inner.as_table_like_mut().expect("a known table, checked when the text was read");
    }
    match table.get_mut(name) {
        Some(Item::Value(old)) => {
            // Spaces and a comment behind the value stay with the key.
            *value.decor_mut() = old.decor().clone();
            *old = value;
        }
        _ => {
            table.insert(name, Item::Value(value));
        }
    }
    if added {
        document.set_trailing("");
    }
    Ok(document.to_string())
}

/// A table at the end of the file, with what stood there before its header.
fn last_table(end: &str) -> Table {
    let mut table = Table::new();
    table.set_implicit(true);
    table.set_position(Some(isize::MAX));
    let line_end = if end.is_empty() || end.ends_with('\n') { "" } else { "\n" };
    table.decor_mut().set_prefix(format!("{end}{line_end}\n"));
    table
}

/// Cuts the key out of the text, so that comments above and behind it stay.
fn remove(text: &str, path: &str) -> Result<String, toml_edit::TomlError> {
    let document = Document::parse(text)?;
    let (tables, name) = split(path);
    let mut table: &dyn TableLike = document.as_table();
    let mut inline = false;
    for part in &tables {
        match table.get(part) {
            Some(item) => {
                inline |= item.is_inline_table();
                match item.as_table_like() {
                    Some(inner) => table = inner,
                    None => return Ok(text.to_owned()),
                }
            }
            None => return Ok(text.to_owned()),
        }
    }
    let Some((key, item)) = table.get_key_value(name) else {
        return Ok(text.to_owned());
    };
    let span = key.span().zip(item.span());
    match (item, span) {
        (Item::Value(_), Some((key, value))) if !inline => {
            // A dotted key starts before its last part.
            let start = text[..key.start].rfind('\n').map_or(0, |at| at + 1);
            let rest = &text[value.end..];
            let behind = rest.find('\n').map_or(rest, |at| &rest[..=at]);
            let kept = if behind.trim().is_empty() { "" } else { behind.trim_start() };
            let end = value.end + behind.len();
            Ok([&text[..start], kept, &text[end..]].concat())
        }
        _ => {
            let mut document = document.into_mut();
            let mut table: &mut dyn TableLike = document.as_table_mut();
            for part in tables {
                match table.get_mut(part).and_then(Item::as_table_like_mut) {
                    Some(inner) => table = inner,
                    None => return Ok(text.to_owned()),
                }
            }
            table.remove(name);
            Ok(document.to_string())
        }
    }
}

fn split(path: &str) -> (Vec<&str>, &str) {
    let mut parts: Vec<&str> = path.split('.').collect();
    let name = parts.pop().unwrap_or_default();
    (parts, name)
}

/// A JSON value as TOML; null has none. A list of lists or tables gets a line for each.
fn toml_value(json: &serde_json::Value) -> Option<Value> {
    Some(match json {
        serde_json::Value::Null => return None,
        serde_json::Value::Bool(flag) => (*flag).into(),
        serde_json::Value::Number(number) => match number.as_i64() {
            Some(whole) => whole.into(),
            None => number.as_f64()?.into(),
        },
        serde_json::Value::String(text) => text.as_str().into(),
        serde_json::Value::Array(items) => {
            let mut list: Array = items.iter().filter_map(toml_value).collect();
            if items.iter().any(|i| i.is_array() || i.is_object()) {
                for value in list.iter_mut() {
                    value.decor_mut().set_prefix("\n    ");
                }
                list.set_trailing_comma(true);
                list.set_trailing("\n");
            }
            list.into()
        }
        serde_json::Value::Object(fields) => {
            let mut table = InlineTable::new();
            for (name, field) in fields {
                if let Some(value) = toml_value(field) {
                    table.insert(name, value);
                }
            }
            table.into()
        }
    })
}

fn json_of_item(item: &Item) -> serde_json::Value {
    match item {
        Item::None => serde_json::Value::Null,
        Item::Value(value) => json_of_value(value),
        Item::Table(table) => json_of_table(table),
        Item::ArrayOfTables(tables) => tables.iter().map(|t| json_of_table(t)).collect(),
    }
}

fn json_of_table(table: &dyn TableLike) -> serde_json::Value {
    let fields = table.iter().map(|(name, item)| (name.to_owned(), json_of_item(item)));
    serde_json::Value::Object(fields.collect())
}

fn json_of_value(value: &Value) -> serde_json::Value {
    match value {
        Value::String(text) => text.value().as_str().into(),
        Value::Integer(whole) => (*whole.value()).into(),
        Value::Float(number) => (*number.value()).into(),
        Value::Boolean(flag) => (*flag.value()).into(),
        Value::Datetime(date) => date.to_string().into(),
        Value::Array(list) => list.iter().map(json_of_value).collect(),
        Value::InlineTable(table) => json_of_table(table),
    }
}
