//! What every reader of TOML asks of its values and places.

use toml_edit::Value;

/// A finite number, written whole or with decimals.
pub(crate) fn number(value: &Value) -> Option<f64> {
    let number = value.as_float().or_else(|| value.as_integer().map(|n| n as f64))?;
    number.is_finite().then_some(number)
}

/// The line, from 1, of a place in `text`.
pub(crate) fn line_of(text: &str, offset: usize) -> usize {
    text.bytes().take(offset).filter(|b| *b == b'\n').count() + 1
}
