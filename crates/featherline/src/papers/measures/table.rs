//! The measures as a table on the screen.

use super::rows::{rows, sure_words};
use crate::commands::measure::Measured;

/// Widths of the columns, in letters.
const NAME: usize = 18;
const VALUE: usize = 20;
const SURE: usize = 11;

/// The table, then what was mended and noticed.
pub(crate) fn as_text(measured: &Measured) -> String {
    let last = &measured.last;
    let mut lines = vec![
        format!("{}: read in {}, {} triangles", measured.name, last.unit, measured.triangles),
        String::new(),
        format!("{:NAME$}  {:>VALUE$}  {:SURE$}  how it was taken", "measure", "value", "sure"),
    ];
    for row in rows(measured) {
        let sure = sure_words(row.sureness);
        lines.push(format!("{:NAME$}  {:>VALUE$}  {sure:SURE$}  {}", row.name, row.value, row.how));
    }
    lines.push(String::new());
    lines.push("what was found, and by what sign:".into());
    let found = last.found.iter();
    lines.extend(
        found.map(|f| format!("  {} (sure: {:.0} of 100)", f.sentence, 100.0 * f.sureness)),
    );
    let mended = measured.repairs.iter().map(|r| format!("  {}; {}", r.message, r.hint)).collect();
    let noticed = measured.warnings.iter();
    let noticed = noticed.map(|w| format!("  {}: {}; {}", w.place, w.message, w.hint)).collect();
    for (title, all) in [("repairs:", mended), ("warnings:", noticed)] {
        let all: Vec<String> = all;
        if !all.is_empty() {
            lines.push(String::new());
            lines.push(title.into());
            lines.extend(all);
        }
    }
    lines.push(String::new());
    lines.push("Computed from the scan: check with a tape before you rely on it.".into());
    lines.join("\n")
}
