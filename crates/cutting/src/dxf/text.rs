//! Text in the ASCII of an old drawing file.

use std::fmt::Write as _;

use crate::text::transliterate;

/// A text as the value of a TEXT entity.
pub(super) fn encode(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    let mut percents = 0;
    let mut rest = text.chars();
    while let Some(c) = rest.next() {
        percents = if c == '%' { percents + 1 } else { 0 };
        match c {
            '°' => out.push_str("%%d"),
            '±' => out.push_str("%%p"),
            'Ø' | '⌀' => out.push_str("%%c"),
            // Two in a row would begin a control code; three are the code for one.
            '%' if percents > 1 => out.push_str("%%%"),
            '^' => out.push_str("^ "),
            '\\' if begins_code(rest.as_str()) => out.push_str("\\U+005C"),
            c if c.is_control() => out.push(' '),
            c if c.is_ascii() => out.push(c),
            c => match transliterate::ascii(c) {
                Some(plain) => out.push_str(plain),
                None => {
                    for unit in c.encode_utf16(&mut [0; 2]) {
                        let _ = write!(out, "\\U+{unit:04X}");
                    }
                }
            },
        }
    }
    out
}

/// Whether what follows a backslash would be read as the number of a character.
fn begins_code(text: &str) -> bool {
    let mut letters = text.chars();
    let kind = letters.next();
    matches!(kind, Some('U' | 'u' | 'M' | 'm')) && letters.next() == Some('+')
}

/// A text for a comment, where nothing is decoded: foreign letters lose their accents.
pub(super) fn plain_ascii(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            c if c.is_control() => out.push(' '),
            c if c.is_ascii() => out.push(c),
            c => out.push_str(transliterate::ascii(c).unwrap_or("?")),
        }
    }
    out
}
