//! What goes to standard output and standard error: results to the one, remarks to the other.

use std::io::Write;

use geometry::warned::Warning;
use serde::Serialize;

/// A line for people on standard output.
pub(crate) fn say(line: &str) {
    // A reader that closed the pipe has heard enough.
    let _ = writeln!(std::io::stdout().lock(), "{line}");
}

/// A result as JSON on standard output.
pub(crate) fn say_json(result: &impl Serialize) -> anyhow::Result<()> {
    say(&serde_json::to_string_pretty(result)?);
    Ok(())
}

/// An error as JSON on standard output: `{"error": {"message": ...}}`.
pub(crate) fn error_as_json(message: &str) {
    say(&serde_json::json!({ "error": { "message": message.trim_end() } }).to_string());
}

/// What is wrong with a call, out of the text for a terminal: one line, without the word before
/// it and without the usage behind it, which the reader of JSON has no use for.
pub(crate) fn without_usage(text: &str) -> String {
    text.strip_prefix("error: ")
        .unwrap_or(text)
        .split("\n\n")
        .map(|part| part.split_whitespace().collect::<Vec<_>>().join(" "))
        .filter(|part| {
            !part.is_empty() && !part.starts_with("Usage:") && !part.contains("try '--help'")
        })
        .collect::<Vec<_>>()
        .join("; ")
}

/// Warnings, each with its place and what can be done, on standard error.
pub(crate) fn warn(warnings: &[Warning]) {
    for warning in warnings {
        eprintln!("warning: {}: {}; {}", warning.place, warning.message, warning.hint);
    }
}
