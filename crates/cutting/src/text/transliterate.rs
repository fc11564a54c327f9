//! Stand-ins for letters and signs that an old character set lacks.

/// Base letters of U+00C0 to U+017F (Latin-1 letters and Latin Extended-A), by Unicode decomposition;
/// stroked letters by their look.
const LATIN: &[u8; 192] = b"\
    AAAAAAACEEEEIIIIDNOOOOOxOUUUUYTsaaaaaaaceeeeiiiidnooooo/ouuuuyty\
    AaAaAaCcCcCcCcDdDdEeEeEeEeEeGgGgGgGgHhHhIiIiIiIiIiIiJjKkkLlLlLlL\
    lLlNnNnNnnNnOoOoOoOoRrRrRrSsSsSsSsTtTtTtUuUuUuUuUuUuWwYyYZzZzZzs";

/// A stand-in in plain ASCII: signs by their usual typewriter spelling, accented Latin letters by
/// their base letter. `None` where there is no sensible one.
pub(crate) fn ascii(c: char) -> Option<&'static str> {
    let sign = match c {
        '\u{2010}' | '\u{2011}' | '\u{2012}' | '–' | '—' | '\u{2212}' => "-",
        '‘' | '’' | '‚' | '′' => "'",
        '“' | '”' | '„' | '″' => "\"",
        '×' => "x",
        '•' | '·' => "*",
        '…' => "...",
        '≤' => "<=",
        '≥' => ">=",
        '≠' => "!=",
        '≈' => "~",
        '→' => "->",
        '←' => "<-",
        '↔' => "<->",
        '½' => "1/2",
        '¼' => "1/4",
        '¾' => "3/4",
        '²' => "2",
        '³' => "3",
        '\u{a0}' | '\u{2002}'..='\u{200a}' | '\u{202f}' => " ",
        '\u{ad}' | '\u{200b}'..='\u{200d}' | '\u{feff}' => "",
        'Æ' => "AE",
        'æ' => "ae",
        'Œ' => "OE",
        'œ' => "oe",
        'Ĳ' => "IJ",
        'ĳ' => "ij",
        'ß' => "ss",
        _ => return latin(c),
    };
    Some(sign)
}

fn latin(c: char) -> Option<&'static str> {
    let place = usize::try_from(u32::from(c).checked_sub(0xc0)?).ok()?;
    let letter = LATIN.get(place..=place)?;
    std::str::from_utf8(letter).ok()
}
