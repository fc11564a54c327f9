//! Reads the stroked paths of the pages of a PDF file, in mm.

use glam::DVec2;

use super::{Line, Piece};

/// The content of every page.
pub(crate) fn contents(file: &[u8]) -> Vec<String> {
    let mut contents = Vec::new();
    let mut from = 0;
    while let Some(start) = find(file, b"stream\n", from) {
        let end = find(file, b"\nendstream", start).expect("the end of the stream");
        let packed = &file[start + b"stream\n".len()..end];
        let plain = miniz_oxide::inflate::decompress_to_vec_zlib(packed).expect("a zlib stream");
        contents.push(String::from_utf8(plain).unwrap());
        from = end + b"\nendstream".len();
    }
    contents
}

fn find(file: &[u8], what: &[u8], from: usize) -> Option<usize> {
    file[from..].windows(what.len()).position(|w| w == what).map(|at| at + from)
}

/// The lines that a page strokes, in their order.
pub(crate) fn lines(content: &str) -> Vec<Line> {
    let mut lines = Vec::new();
    let mut parts: Vec<Line> = Vec::new();
    let mut first = DVec2::ZERO;
    let mut last = DVec2::ZERO;
    for row in content.lines() {
        let (numbers, operator) = row.rsplit_once(' ').unwrap_or(("", row));
        let points: Vec<DVec2> = numbers
            .split(' ')
            .filter_map(|n| n.parse::<f64>().ok())
            .collect::<Vec<_>>()
            .chunks_exact(2)
            .map(|pair| DVec2::new(pair[0], pair[1]) * (25.4 / 72.0))
            .collect();
        match operator {
            "m" => {
                parts.push(Line::default());
                first = points[0];
                last = first;
            }
            "l" => {
                parts.last_mut().unwrap().pieces.push(Piece::Line(last, points[0]));
                last = points[0];
            }
            "c" => {
                let cubic = Piece::Cubic([last, points[0], points[1], points[2]]);
                parts.last_mut().unwrap().pieces.push(cubic);
                last = points[2];
            }
            "h" => {
                let part = parts.last_mut().unwrap();
                if last != first {
                    part.pieces.push(Piece::Line(last, first));
                }
                part.closed = true;
                last = first;
            }
            "S" => lines.append(&mut parts),
            "n" | "B" | "f" => parts.clear(),
            _ => {}
        }
    }
    lines
}
