//! The parts of the file before the first line: header variables, line types, layers, text style.

use glam::DVec2;

use super::Pairs;

pub(super) const DASHED: &str = "DASHED";
pub(super) const CHAIN: &str = "CHAIN";
pub(super) const STYLE: &str = "STANDARD";

/// Name, words, and lengths in mm: dashes above 0, gaps below.
const LINE_TYPES: [(&str, &str, &[f64]); 3] = [
    ("CONTINUOUS", "Unbroken line", &[]),
    (DASHED, "Dashes", &[3.0, -1.5]),
    (CHAIN, "Long and short dashes in turn", &[8.0, -1.5, 1.5, -1.5]),
];

/// Name and colour number: 7 black or white, 5 blue, 8 grey. Layer 0 must exist.
const LAYERS: [(&str, i32); 4] = [("0", 7), ("CUT", 7), ("MARK", 5), ("TEXT", 8)];

/// Millimetres, as later releases number units.
const UNIT_MM: i32 = 4;

pub(super) fn header(file: &mut Pairs, low: DVec2, high: DVec2) {
    file.section("HEADER");
    file.put(9, "$ACADVER");
    file.put(1, "AC1009");
    file.put(9, "$INSUNITS");
    file.whole(70, UNIT_MM);
    file.put(9, "$INSBASE");
    file.point(10, DVec2::ZERO);
    for (name, p) in [("$EXTMIN", low), ("$EXTMAX", high)] {
        file.put(9, name);
        file.point(10, p);
    }
    for (name, p) in [("$LIMMIN", low), ("$LIMMAX", high)] {
        file.put(9, name);
        file.number(10, p.x);
        file.number(20, p.y);
    }
    file.put(9, "$LTSCALE");
    file.number(40, 1.0);
    file.put(0, "ENDSEC");
}

pub(super) fn tables(file: &mut Pairs) {
    file.section("TABLES");
    table(file, "LTYPE", &LINE_TYPES, |file, (name, words, lengths)| {
        file.put(2, name);
        file.whole(70, 0);
        file.put(3, words);
        file.whole(72, i32::from(b'A'));
        file.whole(73, lengths.iter().map(|_| 1).sum());
        file.number(40, lengths.iter().map(|l| l.abs()).sum());
        for length in *lengths {
            file.number(49, *length);
        }
    });
    table(file, "LAYER", &LAYERS, |file, (name, color)| {
        file.put(2, name);
        file.whole(70, 0);
        file.whole(62, *color);
        file.put(6, "CONTINUOUS");
    });
    table(file, "STYLE", &[STYLE], |file, name| {
        file.put(2, name);
        file.whole(70, 0);
        file.number(40, 0.0);
        file.number(41, 1.0);
        file.number(50, 0.0);
        file.whole(71, 0);
        file.number(42, 3.0);
        file.put(3, "txt");
        file.put(4, "");
    });
    file.put(0, "ENDSEC");
}

fn table<T>(file: &mut Pairs, kind: &str, rows: &[T], row: impl Fn(&mut Pairs, &T)) {
    file.put(0, "TABLE");
    file.put(2, kind);
    file.whole(70, rows.iter().map(|_| 1).sum());
    for content in rows {
        file.put(0, kind);
        row(file, content);
    }
    file.put(0, "ENDTAB");
}
