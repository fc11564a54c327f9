//! Pages and sheets of paper: sizes that are refused, sheets that are left out, room for the square.

use cutting::pdf::{
    LONGEST_SIDE, PageOptions, Paper, PdfError, TileError, TileOptions, write_page, write_tiled,
};
use geometry::drawing::{Curve, Drawing, Item, Layer, Path, Stroke};
use glam::dvec2;
use proptest::prelude::*;

fn rectangle(width: f64, height: f64) -> Drawing {
    let corners = [(0.0, 0.0), (width, 0.0), (width, height), (0.0, height)];
    let curve = Curve::polyline(corners.map(|(x, y)| dvec2(x, y)), true);
    let item = Item::Path(Path { layer: Layer::Cut, stroke: Stroke::Solid, curve });
    Drawing { title: "Invented".to_owned(), items: vec![item] }
}

#[test]
fn a_page_longer_than_readers_show_is_refused_by_name() {
    let options = PageOptions { margin: 10.0, footer: false };
    assert!((LONGEST_SIDE - 5080.0).abs() < 1e-9);
    assert!(write_page(&rectangle(5060.0, 100.0), options).is_ok());
    let error = write_page(&rectangle(5060.1, 100.0), options).expect_err("too long");
    assert!(matches!(error, PdfError::PageTooLarge { width, .. } if (width - 5080.1).abs() < 1e-9));
    assert!(error.to_string().contains("5080 mm"), "{error}");
    let negative = PageOptions { margin: -1.0, footer: true };
    assert!(write_page(&rectangle(1.0, 1.0), negative).is_err());
}

#[test]
fn the_turn_with_fewer_pages_is_taken() {
    // 250 x 150 mm: one lying sheet, two upright ones.
    let lying = write_tiled(&rectangle(250.0, 150.0), Paper::A4, TileOptions::default());
    let layout = lying.expect("fits").layout;
    assert_eq!((layout.upright, layout.tiles.len(), layout.cover), (false, 1, true));
    assert_eq!(layout.to_string(), "1 sheet of A4, lying on the long side: 1 row, 1 column");
    let upright = write_tiled(&rectangle(150.0, 250.0), Paper::A4, TileOptions::default());
    let layout = upright.expect("fits").layout;
    assert_eq!((layout.upright, layout.tiles.len(), layout.pages()), (true, 1, 2));
}

#[test]
fn a_small_piece_shares_its_sheet_with_the_square() {
    for paper in Paper::ALL {
        let tiled = write_tiled(&rectangle(120.0, 90.0), paper, TileOptions::default());
        let layout = tiled.expect("fits").layout;
        assert_eq!((layout.pages(), layout.cover), (1, false), "{}", paper.name());
    }
}

#[test]
fn sheets_within_a_large_piece_are_kept_and_those_beside_it_are_not() {
    let mut large = rectangle(700.0, 900.0);
    let layout = write_tiled(&large, Paper::A4, TileOptions::default()).expect("fits").layout;
    assert!(layout.empty.is_empty());
    assert_eq!(layout.tiles.len(), layout.rows * layout.columns);
    // Only marked, not cut: nothing holds the paper in the middle.
    if let Item::Path(path) = &mut large.items[0] {
        path.layer = Layer::Mark;
    }
    let layout = write_tiled(&large, Paper::A4, TileOptions::default()).expect("fits").layout;
    let edge = 2 * (layout.rows + layout.columns) - 4;
    assert_eq!(layout.tiles.len(), edge);
    assert_eq!(layout.empty.len(), layout.rows * layout.columns - edge);
}

#[test]
fn what_cannot_be_tiled_is_named() {
    let error = write_tiled(&rectangle(20_000.0, 50.0), Paper::Letter, TileOptions::default());
    let error = error.expect_err("too many sheets");
    assert!(matches!(error, TileError::TooManyTiles { .. }));
    assert!(error.to_string().contains("Letter") && error.to_string().contains("20000"), "{error}");
    for (margin, overlap) in [(0.0, 10.0), (10.0, 0.0), (f64::NAN, 10.0), (80.0, 10.0)] {
        let options = TileOptions { margin, overlap };
        let error = write_tiled(&rectangle(50.0, 50.0), Paper::A4, options);
        assert!(matches!(error, Err(TileError::Options { .. })), "{margin} {overlap}");
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(60))]

    #[test]
    fn windows_cover_the_drawing_and_overlap(
        width in 1.0_f64..1500.0,
        height in 1.0_f64..1500.0,
        margin in 5.0_f64..20.0,
        overlap in 8.0_f64..20.0,
    ) {
        let options = TileOptions { margin, overlap };
        let layout = write_tiled(&rectangle(width, height), Paper::A4, options).expect("fits").layout;
        let tiles = &layout.tiles;
        for (x, y) in [(0.0, 0.0), (width, 0.0), (width, height), (0.0, height)] {
            let corner = dvec2(x, y);
            let shows = tiles.iter().any(|t| corner.cmpge(t.low).all() && corner.cmple(t.high).all());
            prop_assert!(shows, "the corner {corner} is on no sheet");
        }
        for a in tiles {
            for b in tiles.iter().filter(|b| b.row == a.row && b.column == a.column + 1) {
                prop_assert!((a.high.x - b.low.x - overlap).abs() < 1e-9);
            }
            for b in tiles.iter().filter(|b| b.column == a.column && b.row == a.row + 1) {
                prop_assert!((b.high.y - a.low.y - overlap).abs() < 1e-9);
            }
        }
    }
}
