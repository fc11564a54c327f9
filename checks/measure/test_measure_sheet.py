"""The sheet of measures, read by two readers: PyMuPDF and pdfplumber."""

import pathlib

import fitz
import pdfplumber
import pytest

CASES = [
    dict(sll=260, foot="right", heel=25),
    dict(sll=260, foot="left", heel=5),
    dict(sll=133.4, foot="left", heel=5),
    dict(sll=306.667, foot="right", heel=65, girth=262),
    dict(sll=306.667, foot="left", heel=65, girth=262, radius=4),
]
POINT = 25.4 / 72


@pytest.fixture(scope="module", params=CASES, ids=lambda c: f"{c['sll']}-{c['foot']}-h{c['heel']}")
def sheet(request, build_last, featherline, measured, tmp_path_factory):
    path, truth = build_last(**request.param)
    assert path, truth
    out = tmp_path_factory.mktemp("sheet") / "sheet.pdf"
    heel = request.param["heel"]
    done = featherline("measure", path, "--heel-height", heel, "--sheet", out)
    assert done.returncode == 0, done.stderr
    # Read once: a reader takes seconds for the many short lines of the pictures.
    with fitz.open(out) as by_fitz, pdfplumber.open(out) as by_plumber:
        yield Sheet(by_fitz, by_plumber, measured(path, "--heel-height", heel))


class Sheet:
    """A sheet as both readers have it, and what the program said it measured."""

    def __init__(self, by_fitz, by_plumber, found):
        self.by_fitz, self.by_plumber, self.found = by_fitz, by_plumber, found
        texts = (
            " ".join(page.get_text() for page in by_fitz),
            " ".join(page.extract_text(x_tolerance=1.5) for page in by_plumber.pages),
        )
        self.texts = [" ".join(text.split()) for text in texts]


def test_both_readers_find_every_measure(sheet):
    found = sheet.found
    wanted = [
        f"{found[name]:.1f} mm"
        for name in (
            "length", "width", "height", "heel_height", "toe_spring", "seat_width", "tread_width",
            "ball_girth", "waist_girth", "instep_girth", "short_heel_girth", "long_heel_girth",
            "length_round_heel",
        )
    ]
    words = ["Length round heel", "check the girths", f"{found['foot']} foot", "certify nothing"]
    for text in sheet.texts:
        for part in (*wanted, *words):
            assert part in text, part


def test_pages_are_a4_and_vector(sheet):
    for page in sheet.by_fitz:
        assert page.rect.width * POINT == pytest.approx(210, abs=0.1)
        assert page.rect.height * POINT == pytest.approx(297, abs=0.1)
        assert not page.get_images()


def test_no_words_overlap_or_leave_the_page(sheet):
    """Boxes of letters as pdfplumber reads them, word against word."""
    for page in sheet.by_plumber.pages:
        words = page.extract_words(x_tolerance=1.5, keep_blank_chars=False)
        for word in words:
            assert 20 < word["x0"] and word["x1"] < page.width - 20, word
            assert 20 < word["top"] and word["bottom"] < page.height - 20, word
        for i, a in enumerate(words):
            for b in words[i + 1 :]:
                wide = min(a["x1"], b["x1"]) - max(a["x0"], b["x0"])
                # A box is taller than its letters by the room for accents and tails.
                high = min(a["bottom"], b["bottom"]) - max(a["top"], b["top"])
                size = min(a["bottom"] - a["top"], b["bottom"] - b["top"])
                assert wide < 0.3 or high < 0.35 * size, (a["text"], b["text"])


def test_the_picture_has_the_stated_scale(sheet):
    """The dimension line of the length is as long as the length at the stated scale."""
    scale = float(sheet.texts[0].split("Pictures at 1 : ")[1].split(";")[0])
    wanted = sheet.found["length"] / scale
    level = [
        (line["x1"] - line["x0"]) * POINT
        for line in sheet.by_plumber.pages[0].lines
        if abs(line["top"] - line["bottom"]) < 0.01
    ]
    # The scale is printed to two decimals.
    near = pytest.approx(wanted, rel=0.006 / scale, abs=0.05)
    assert any(length == near for length in level), (wanted, level)


def test_same_bytes_again(build_last, featherline, tmp_path):
    path, _ = build_last(**CASES[0])
    sheets = [tmp_path / "a.pdf", tmp_path / "b.pdf"]
    for out in sheets:
        assert featherline("measure", path, "--sheet", out).returncode == 0
    assert sheets[0].read_bytes() == sheets[1].read_bytes()


def test_the_sheet_never_takes_the_place_of_the_scan(build_last, featherline, tmp_path):
    path, _ = build_last(**CASES[0])
    scan = tmp_path / "scan.obj"
    scan.write_bytes(pathlib.Path(path).read_bytes())
    done = featherline("measure", scan, "--sheet", scan)
    assert done.returncode == 1 and "--sheet is the file being read" in done.stderr
    assert scan.read_bytes() == pathlib.Path(path).read_bytes()
    done = featherline("measure", scan, "--sheet", tmp_path / "none" / "a.pdf", "--json")
    assert done.returncode == 1 and "cannot be written" in done.stdout
