//! Text in WinAnsi (Windows code page 1252), the encoding of the letters built into PDF readers.

use super::transliterate;

/// Characters of the codes 0x80 to 0x9F; the unused codes hold a space.
const HIGH: [char; 32] = [
    '€', ' ', '‚', 'ƒ', '„', '…', '†', '‡', 'ˆ', '‰', 'Š', '‹', 'Œ', ' ', 'Ž', ' ', //
    ' ', '‘', '’', '“', '”', '•', '–', '—', '˜', '™', 'š', '›', 'œ', ' ', 'ž', 'Ÿ',
];

/// The codes of a text. – — “ ” ’ • × ° ± ½ and the letters of Western Europe are kept, others get
/// a stand-in (≤ becomes <=, → becomes ->, ł becomes l), what has none becomes a question mark, and
/// line breaks and other controls become spaces.
pub(crate) fn encode(text: &str) -> Vec<u8> {
    let mut codes = Vec::with_capacity(text.len());
    for c in text.chars() {
        if c.is_control() {
            codes.push(b' ');
        } else if let Some(code) = code(c) {
            codes.push(code);
        } else {
            codes.extend(transliterate::ascii(c).unwrap_or("?").bytes());
        }
    }
    codes
}

fn code(c: char) -> Option<u8> {
    match u32::from(c) {
        point @ (0x20..=0x7e | 0xa0..=0xac | 0xae..=0xff) => u8::try_from(point).ok(),
        _ => HIGH.iter().position(|h| *h == c).and_then(|i| u8::try_from(i + 0x80).ok()),
    }
}

#[cfg(test)]
mod tests {
    use super::encode;

    #[test]
    fn western_signs_are_kept_and_others_are_spelled() {
        assert_eq!(encode("½ × ° ± –"), [0xbd, b' ', 0xd7, b' ', 0xb0, b' ', 0xb1, b' ', 0x96]);
        assert_eq!(encode("a ≤ b → Łódź"), b"a <= b -> L\xf3dz");
        assert_eq!(encode("靴\n1"), b"? 1");
    }
}
