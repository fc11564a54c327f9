"""The sheet of instructions as a reader sees it: everything on the page, nothing on top of another."""

import itertools
import re

import numpy as np
import pdfplumber
import pymupdf
import pytest

from formats_reading import MM, open_pdf

ROWS = 40


@pytest.fixture(scope="session", params=["a4", "letter"])
def file(request, made):
    return made / f"instructions-{request.param}.pdf"


@pytest.fixture(scope="session")
def document(file):
    return open_pdf(file)


def lines(page):
    """(box in mm from the top left, text) of every run of letters."""
    for block in page.get_text("dict")["blocks"]:
        for row in block.get("lines", []):
            for span in row["spans"]:
                if span["text"].strip():
                    yield np.array(span["bbox"]) * MM, span["text"]


def test_title_and_page_numbers(document):
    assert document.metadata["title"] == "Heel piece “Example”"
    assert len(document) >= 2
    for page in document:
        assert f"page {page.number + 1} of {len(document)}" in page.get_text()
        assert "Invented example · not a pattern · Lukasz’s bench" in page.get_text()


def test_letters_stay_within_the_margins(document):
    for page in document:
        width, height = page.rect.width * MM, page.rect.height * MM
        for (x0, y0, x1, y1), text in lines(page):
            assert x0 > 19.5 and x1 < width - 19.5, text
            assert y0 > 15.0 and y1 < height - 10.0, text


def test_no_letters_lie_on_each_other(document):
    for page in document:
        # A sign within its shape, such as the mark in the triangle, stands beside no other letters.
        boxes = [(box, text) for box, text in lines(page)]
        for (a, first), (b, second) in itertools.combinations(boxes, 2):
            shared = np.minimum(a[2:], b[2:]) - np.maximum(a[:2], b[:2])
            # Boxes of letters reach above and below what is inked; a third is a real overlap.
            limit = 0.33 * min(a[3] - a[1], b[3] - b[1])
            assert not (shared[0] > 0.05 and shared[1] > limit), f"{first!r} on {second!r}"


def test_header_is_repeated_and_no_row_is_lost(file):
    with pdfplumber.open(file) as pdf:
        pages = [page.extract_text() for page in pdf.pages]
    with_rows = [text for text in pages if re.search(r"^Length \d+ ", text, re.M)]
    assert len(with_rows) >= 2
    for text in with_rows:
        assert len(re.findall(r"^What Value Unit Reason$", text, re.M)) == 1
    numbers = [int(n) for text in pages for n in re.findall(r"^Length (\d+) ", text, re.M)]
    assert numbers == list(range(1, ROWS + 1))


def test_numbers_are_aligned_to_the_right(document):
    for page in document:
        edges = [box[2] for box, text in lines(page) if re.fullmatch(r"\d+\.\d", text)]
        if edges:
            assert np.ptp(edges) < 0.05


def test_headings_stand_with_what_follows(document):
    texts = [page.get_text() for page in document]
    for heading, following in [("Lengths", "Length 1\n"), ("Last heading", "It stands with")]:
        assert any(heading in t and following in t for t in texts), heading


def test_outcomes_have_words_and_shapes(document):
    page = document[0]
    top = {text: box for box, text in lines(page) if text in ("pass", "fail", "open")}
    assert len(top) == 3
    shapes = {}
    pixmap = page.get_pixmap(dpi=150, colorspace=pymupdf.csGRAY)
    image = np.frombuffer(pixmap.samples, dtype=np.uint8).reshape(pixmap.height, pixmap.stride)
    for word, box in top.items():
        scale = 150 / 25.4
        y = int((box[1] + box[3]) / 2 * scale)
        x = int(box[0] * scale)
        # The shape stands to the left of its word, in a field of 5 mm.
        shapes[word] = (image[y - 15 : y + 15, x - 40 : x - 8] < 128).astype(float)
    for a, b in itertools.combinations(shapes.values(), 2):
        assert np.abs(a - b).mean() > 0.08  # without any colour


def test_no_white_seams_between_areas(document):
    """Neighbouring triangles of one colour leave no lighter hairline between them when rendered."""
    page = document[0]
    for dpi in (72, 110, 150):
        pixmap = page.get_pixmap(dpi=dpi)
        image = np.frombuffer(pixmap.samples, dtype=np.uint8).reshape(pixmap.height, pixmap.stride)
        image = image[:, : pixmap.width * 3].reshape(pixmap.height, pixmap.width, 3).astype(int)
        dark = np.abs(image - [160, 50, 40]).max(axis=2) < 3
        # Single pixels that differ within four of the darkest colour are seams.
        around = dark[:-2, 1:-1] & dark[2:, 1:-1] & dark[1:-1, :-2] & dark[1:-1, 2:]
        assert around.sum() > 500
        assert not (around & ~dark[1:-1, 1:-1]).any()


def test_file_is_small(file):
    assert file.stat().st_size < 400_000  # with 20 000 areas
