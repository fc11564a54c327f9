//! Pages put together into a file.

use pdf_writer::{Filter, Finish, Name, Pdf, Rect, Ref, TextStr};

use super::canvas::{Canvas, POINTS};

/// How hard to compress: past this level pages hardly get smaller.
const LEVEL: u8 = 6;

/// The file's name for itself, twice: fixed, so that the same drawing gives the same bytes.
const FILE_ID: &[u8; 16] = b"full-scale-sheet";

/// A finished page.
pub(crate) struct Page {
    /// Width, mm.
    pub(crate) width: f64,
    /// Height, mm.
    pub(crate) height: f64,
    /// What is on it.
    pub(crate) canvas: Canvas,
}

/// Puts the pages together. No dates, no random names.
pub(crate) fn assemble(title: &str, pages: Vec<Page>) -> Vec<u8> {
    let [catalog, tree, info, regular, bold] = [1, 2, 3, 4, 5].map(Ref::new);
    let count = i32::try_from(pages.len()).unwrap_or(i32::MAX);
    let page_id = |i: i32| Ref::new(6 + 2 * i);
    let content_id = |i: i32| Ref::new(7 + 2 * i);

    let mut pdf = Pdf::new();
    pdf.set_version(1, 7);
    pdf.set_file_id((FILE_ID.to_vec(), FILE_ID.to_vec()));
    pdf.document_info(info).title(TextStr(title));
    let mut root = pdf.catalog(catalog);
    root.pages(tree).lang(TextStr("en"));
    let mut viewing = root.viewer_preferences();
    viewing.display_doc_title(true);
    viewing.pair(Name(b"PrintScaling"), Name(b"None"));
    viewing.finish();
    root.finish();
    pdf.pages(tree).kids((0..count).map(page_id)).count(count);
    for (id, name) in [(regular, "Helvetica"), (bold, "Helvetica-Bold")] {
        let mut font = pdf.type1_font(id);
        font.base_font(Name(name.as_bytes()));
        font.encoding_predefined(Name(b"WinAnsiEncoding"));
    }
    for (i, page) in (0..count).zip(pages) {
        let (width, height) = ((page.width * POINTS) as f32, (page.height * POINTS) as f32);
        let mut sheet = pdf.page(page_id(i));
        sheet.parent(tree).media_box(Rect::new(0.0, 0.0, width, height)).contents(content_id(i));
        sheet.resources().fonts().pair(Name(b"F1"), regular).pair(Name(b"F2"), bold);
        sheet.finish();
        let packed = miniz_oxide::deflate::compress_to_vec_zlib(&page.canvas.finish(), LEVEL);
        pdf.stream(content_id(i), &packed).filter(Filter::FlateDecode);
    }
    pdf.finish()
}
