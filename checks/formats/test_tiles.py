"""Tiled pages put together again, the way a person does it: mark on mark.

Nothing here knows how the program lays its sheets. The marks are found on the page as circles, told
apart by the number printed beside them, and the pages are moved until they coincide.
"""

import collections
import itertools
import math
import re

import numpy as np
import pdfplumber
import pymupdf
import pytest

from formats_reading import MM, open_pdf, pdf_path, pdf_paths

PAPERS = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}
PIECES = ["ruler", "angle", "small"]
MARGIN = 10.0
OVERLAP = 10.0
TOLERANCE = 0.001


def outline_points(piece, step=0.25):
    """The outline from its dimensions, lower left corner at 0, 0: points along every cut line."""

    def line(a, b):
        n = max(2, int(math.dist(a, b) / step))
        return np.linspace(a, b, n)

    def arc(center, radius, start, end):
        angles = np.radians(np.linspace(start, end, max(2, int(radius * 4))))
        return np.array(center) + radius * np.column_stack([np.cos(angles), np.sin(angles)])

    def ring(*corners):
        return [line(a, b) for a, b in zip(corners, corners[1:] + corners[:1])]

    if piece == "angle":
        return np.vstack(ring((0, 0), (700, 0), (700, 60), (60, 60), (60, 700), (0, 700)))
    if piece == "small":
        return np.vstack(ring((0, 0), (70, 0), (70, 70), (0, 70)))
    return np.vstack(
        [
            line((40, 0), (380, 0)),
            arc((380, 40), 40, -90, 0),
            line((420, 40), (420, 300)),
            line((420, 300), (260, 300)),
            arc((210, 300), 50, 0, -180),
            line((160, 300), (40, 300)),
            arc((40, 260), 40, 90, 180),
            line((0, 260), (0, 40)),
            arc((40, 40), 40, 180, 270),
            *ring((60, 60), (160, 60), (160, 160), (60, 160)),
        ]
    )


def words(page):
    """(text, lower left corner in mm) of every line of text on the page."""
    height = page.rect.height
    for block in page.get_text("dict")["blocks"]:
        for row in block.get("lines", []):
            for span in row["spans"]:
                x, y = span["origin"]
                yield span["text"], np.array([x, height - y]) * MM


def marks(page):
    """Where the numbered circles lie on the page, mm."""
    found = {}
    numbers = [(int(t), at) for t, at in words(page) if re.fullmatch(r"\d+", t)]
    for drawing in page.get_drawings():
        bent = [item for item in drawing["items"] if item[0] == "c"]
        points = pdf_path(drawing, page.rect.height)
        size = np.ptp(points, axis=0)
        if len(bent) < 2 or len(bent) != len(drawing["items"]) or not 4.0 < size[0] < 6.0:
            continue
        assert size[0] == pytest.approx(size[1], abs=0.001)
        center = (points.min(axis=0) + points.max(axis=0)) / 2
        number, _ = min(numbers, key=lambda n: math.dist(n[1], center))
        found[number] = center
    return found


def window(page):
    """The part of the page to which the drawing is clipped: lower left and upper right, mm."""
    height = page.rect.height
    clips = [d["scissor"] for d in page.get_drawings(extended=True) if d["type"] == "clip"]
    box = clips[0]
    return np.array([[box.x0, height - box.y1], [box.x1, height - box.y0]]) * MM


class Sheets:
    """The pages of a file with their places after mounting."""

    def __init__(self, file):
        self.document = open_pdf(file)
        self.tiles = {}
        self.cover = None
        for page in self.document:
            names = [re.match(r"([A-Z]+\d+) · row (\d+) of (\d+), column (\d+) of (\d+)", t) for t, _ in words(page)]
            names = [m for m in names if m]
            if names:
                self.tiles[names[0].group(1)] = (page, [int(n) for n in names[0].groups()[1:]])
            else:
                assert self.cover is None and page.number == 0
                self.cover = page
        self.marks = {name: marks(page) for name, (page, _) in self.tiles.items()}
        self.places = self.mount()

    def mount(self):
        """Moves sheet after sheet onto those already laid, by the marks they share."""
        first = next(iter(self.tiles))
        places = {first: np.zeros(2)}
        queue = collections.deque([first])
        while queue:
            name = queue.popleft()
            for other in self.tiles:
                shared = self.marks[name].keys() & self.marks[other].keys()
                if other in places or not shared:
                    continue
                moves = [self.marks[name][m] - self.marks[other][m] for m in sorted(shared)]
                places[other] = places[name] + np.mean(moves, axis=0)
                queue.append(other)
        return places


@pytest.fixture(scope="session", params=list(itertools.product(PIECES, PAPERS)), ids="-".join)
def case(request, made):
    piece, paper = request.param
    return piece, paper, Sheets(made / f"{piece}-{paper}.pdf")


def test_pages_have_the_size_of_the_paper(case):
    _, paper, sheets = case
    for page in sheets.document:
        size = sorted([page.rect.width * MM, page.rect.height * MM])
        assert size == pytest.approx(PAPERS[paper], abs=0.01)


def test_every_sheet_has_its_check_line(case, made):
    piece, paper, sheets = case
    with pdfplumber.open(made / f"{piece}-{paper}.pdf") as pdf:
        for name, (page, _) in sheets.tiles.items():
            assert any("check line: 100 mm" in t for t, _ in words(page)), name
            strip = [
                line["width"] * MM
                for line in pdf.pages[page.number].lines
                if line["y0"] * MM < MARGIN + 10 and abs(line["height"]) < 0.01 and line["width"] * MM > 50
            ]
            assert any(abs(n - 100.0) < 0.5 for n in strip), name
            for n in strip:
                if abs(n - 100.0) < 5.0:
                    assert n == pytest.approx(100.0, abs=TOLERANCE), name


def test_check_square(case):
    """On the cover, or on a single sheet beside the piece."""
    piece, _, sheets = case
    page = sheets.cover if sheets.cover is not None else next(iter(sheets.tiles.values()))[0]
    assert (sheets.cover is None) == (piece == "small")
    text = page.get_text()
    assert "print at 100 %, no fitting" in text and "measure this square: 100 mm" in text
    squares = [p for w, p in pdf_paths(page) if np.allclose(np.ptp(p, axis=0), 100.0, atol=1.0)]
    assert len(squares) == 1
    assert np.ptp(squares[0], axis=0) == pytest.approx([100.0, 100.0], abs=TOLERANCE)
    low, high = squares[0].min(axis=0), squares[0].max(axis=0)
    size = np.array([page.rect.width, page.rect.height]) * MM
    assert (low > MARGIN - 0.001).all() and (high < size - MARGIN + 0.001).all()
    if piece == "small":
        cut = next(p for w, p in pdf_paths(page, weight=0.25))
        apart = (cut.min(axis=0) > high).any() or (cut.max(axis=0) < low).any()
        assert apart, "the square covers the piece"


def test_marks_of_neighbours_coincide(case):
    piece, _, sheets = case
    assert sheets.places.keys() == sheets.tiles.keys(), "a sheet shares no mark with the others"
    at = collections.defaultdict(list)
    for name, found in sheets.marks.items():
        for number, center in found.items():
            at[number].append(center + sheets.places[name])
    assert all(len(places) == 2 for places in at.values())
    assert all(math.dist(*places) < TOLERANCE for places in at.values())
    assert bool(at) == (len(sheets.tiles) > 1)


def corner(sheets):
    """The lower left corner of the drawing on the mounted sheets."""
    name, (page, _) = next(iter(sheets.tiles.items()))
    cut = np.vstack([p for _, p in pdf_paths(page, weight=0.25)])
    return cut.min(axis=0) + sheets.places[name]


def test_mounted_sheets_show_the_whole_outline(case):
    """Every point of the outline shows on a sheet, within 0.002 mm, and every sheet is needed."""
    piece, _, sheets = case
    wanted = outline_points(piece)
    seen = np.zeros(len(wanted), dtype=bool)
    origin = corner(sheets)
    for name, (page, _) in sheets.tiles.items():
        on_page = wanted + origin - sheets.places[name]
        low, high = window(page)
        shows = ((on_page > low) & (on_page < high)).all(axis=1)
        segments = np.vstack([np.hstack([p[:-1], p[1:]]) for _, p in pdf_paths(page, weight=0.25)])
        for i in np.flatnonzero(shows & ~seen):
            seen[i] = distance(on_page[i], segments) < 0.002
        assert shows.any() or piece == "ruler", f"{name} is printed for nothing"
    assert seen.all(), f"{(~seen).sum()} of {len(seen)} points are lost"


def distance(point, segments):
    a, b = segments[:, :2], segments[:, 2:]
    along = b - a
    square = np.maximum((along**2).sum(axis=1), 1e-12)
    share = np.clip(((point - a) * along).sum(axis=1) / square, 0.0, 1.0)[:, None]
    return np.linalg.norm(point - a - share * along, axis=1).min()


def test_mounted_prints_show_the_whole_outline(case):
    """The same by what is seen: pages rendered, laid mark on mark, ink under every point."""
    piece, _, sheets = case
    dpi = 200
    scale = dpi / 25.4
    wanted = outline_points(piece)
    inked = np.zeros(len(wanted), dtype=bool)
    origin = corner(sheets)
    for name, (page, _) in sheets.tiles.items():
        pixmap = page.get_pixmap(dpi=dpi, colorspace=pymupdf.csGRAY)
        image = np.frombuffer(pixmap.samples, dtype=np.uint8).reshape(pixmap.height, pixmap.stride)
        dark = image[:, : pixmap.width] < 200
        near = dark.copy()
        for axis, by in itertools.product((0, 1), (-1, 1)):
            near |= np.roll(dark, by, axis)
        # Only what shows in the window: not the help lines around it.
        on_page = wanted + origin - sheets.places[name]
        low, high = window(page)
        shows = ((on_page > low) & (on_page < high)).all(axis=1)
        column = np.floor(on_page[:, 0] * scale).astype(int)
        row = np.floor(page.rect.height * MM * scale - on_page[:, 1] * scale).astype(int)
        index = np.flatnonzero(shows)
        inked[index] |= near[
            np.clip(row[index], 0, near.shape[0] - 1), np.clip(column[index], 0, near.shape[1] - 1)
        ]
    assert inked.all(), f"{(~inked).sum()} of {len(inked)} points have no ink"


def test_neighbours_overlap_enough_to_glue(case):
    """Windows of sheets that share marks overlap by 10 mm, and lie within the printable paper."""
    _, _, sheets = case
    for name, (page, _) in sheets.tiles.items():
        low, high = window(page)
        size = np.array([page.rect.width, page.rect.height]) * MM
        assert (low >= MARGIN - 0.001).all() and (high <= size - MARGIN + 0.001).all()
    for a, b in itertools.combinations(sheets.tiles, 2):
        if sheets.marks[a].keys() & sheets.marks[b].keys():
            boxes = [window(sheets.tiles[n][0]) + sheets.places[n] for n in (a, b)]
            shared = np.minimum(boxes[0][1], boxes[1][1]) - np.maximum(boxes[0][0], boxes[1][0])
            assert shared.min() == pytest.approx(OVERLAP, abs=TOLERANCE)


# What the legend calls a style; ruler has all of these, the others a cut line and no more.
LEGEND = {
    "cut line of the piece": {"ruler", "angle", "small"},
    "mark on the piece: do not cut": {"ruler"},
    "mark, dashed: do not cut": {"ruler"},
    "mark, dash and dot: do not cut": {"ruler"},
    "for reading only": {"ruler"},
}


def test_the_cover_speaks_only_of_what_there_is(case):
    """Styles of line that occur, and the edges along which these sheets are joined."""
    piece, _, sheets = case
    if sheets.cover is None:
        return
    text = sheets.cover.get_text()
    rows = {row for _, (row, _, _, _) in sheets.tiles.values()}
    columns = {column for _, (_, _, column, _) in sheets.tiles.values()}
    assert ("left" in text) == (len(columns) > 1) and ("lower edge" in text) == (len(rows) > 1)
    assert ("Glue" in text) == (len(sheets.tiles) > 1)
    for words, pieces in LEGEND.items():
        assert (words in text) == (piece in pieces), words


def test_names_tell_the_place(case):
    """Letters for rows from the top, numbers for columns from the left; the plan names the rest."""
    piece, _, sheets = case
    rows = {}
    for name, (page, (row, rows_all, column, columns_all)) in sheets.tiles.items():
        assert name == f"{chr(ord('A') + row - 1)}{column}"
        rows[(row, column)] = sheets.places[name]
    for (r1, c1), (r2, c2) in itertools.combinations(rows, 2):
        x, y = rows[(r2, c2)] - rows[(r1, c1)]
        assert np.sign(round(x)) == np.sign(c2 - c1)
        assert np.sign(round(y)) == -np.sign(r2 - r1)
    all_names = {f"{chr(ord('A') + r)}{c + 1}" for r in range(rows_all) for c in range(columns_all)}
    empty = all_names - sheets.tiles.keys()
    assert bool(empty) == (piece == "angle")
    if sheets.cover is not None:
        text = sheets.cover.get_text()
        for name in sheets.tiles:
            assert re.search(rf"\b{name}\b", text)
        for name in empty:
            assert f"{name}: empty" in text
