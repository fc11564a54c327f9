//! Breaks text into lines that fit a width.

use crate::text::helvetica::{Style, width};
use crate::text::winansi::encode;

/// Lines of WinAnsi text no wider than `room` mm in a font size of `size` mm. Line breaks in the
/// text stay; a word wider than the room is broken where it must be.
pub(super) fn wrap(text: &str, style: Style, size: f64, room: f64) -> Vec<Vec<u8>> {
    let fits = |codes: &[u8]| size * width(codes, style) <= room;
    let mut lines = Vec::new();
    for paragraph in text.lines() {
        let mut line: Vec<u8> = Vec::new();
        for word in encode(paragraph).split(|c| *c == b' ').filter(|w| !w.is_empty()) {
            let longer =
                if line.is_empty() { word.to_vec() } else { [&line, &b" "[..], word].concat() };
            if fits(&longer) {
                line = longer;
                continue;
            }
            if !line.is_empty() {
                lines.push(std::mem::take(&mut line));
            }
            let mut rest = word;
            while !fits(rest) && rest.len() > 1 {
                let end = (1..rest.len()).rev().find(|&n| fits(&rest[..n])).unwrap_or(1);
                lines.push(rest[..end].to_vec());
                rest = &rest[end..];
            }
            line = rest.to_vec();
        }
        lines.push(line);
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::wrap;
    use crate::text::helvetica::{Style, width};

    #[test]
    fn lines_fit_and_no_word_is_lost() {
        let text = "The quick brown fox\njumps over Donaudampfschifffahrtsgesellschaft \u{2264} 5";
        for room in [8.0, 20.0, 45.0, 200.0] {
            let lines = wrap(text, Style::Regular, 3.5, room);
            assert!(lines.iter().all(|l| 3.5 * width(l, Style::Regular) <= room));
            let joined: Vec<u8> = lines.concat().into_iter().filter(|c| *c != b' ').collect();
            assert_eq!(joined, b"ThequickbrownfoxjumpsoverDonaudampfschifffahrtsgesellschaft<=5");
        }
        assert_eq!(wrap(text, Style::Regular, 3.5, 200.0).len(), 2);
    }
}
