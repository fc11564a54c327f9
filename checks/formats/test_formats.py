"""Every format, read by readers that know nothing of this program.

The example `ruler` writes one invented drawing in each format: a line and a square of 100 mm, and an
outline whose area follows from its dimensions. What is measured here comes from PyMuPDF, pdfplumber,
svgpathtools, svgelements, ezdxf, trimesh and shapely.
"""

import math
import pathlib
import re

import ezdxf
import ezdxf.recover
import numpy as np
import pdfplumber
import pymupdf
import pytest
import svgelements
import trimesh
from lxml import etree
from shapely.geometry import Point, Polygon

from formats_reading import MM, dxf_paths, length, open_pdf, pdf_paths, svg_paths

ROOT = pathlib.Path(__file__).resolve().parents[2]
TITLE = 'Ruler <test> & "check" – invented'

# 420 x 300 mm, three corners rounded with 40 mm, a half circle of 50 mm bitten out.
AREA = 420 * 300 - 3 * 40**2 * (1 - math.pi / 4) - math.pi * 50**2 / 2
LINE_TOLERANCE = 0.001
AREA_TOLERANCE = 1e-4


def about_100(lengths):
    """The lengths that can only be meant as 100 mm."""
    return [n for n in lengths if 99.5 < n < 100.5]


# --- the line of 100 mm ---------------------------------------------------------------------------


def test_pdf_line_by_pymupdf(made):
    page = open_pdf(made / "ruler.pdf")[0]
    lengths = about_100([length(p) for _, p in pdf_paths(page) if len(p) == 2])
    assert len(lengths) == 2  # the drawing's own and the check line
    assert max(abs(n - 100.0) for n in lengths) < LINE_TOLERANCE


def test_pdf_line_by_pdfplumber(made):
    with pdfplumber.open(made / "ruler.pdf") as pdf:
        lines = about_100([line["width"] * MM for line in pdf.pages[0].lines])
    assert len(lines) >= 2
    assert max(abs(n - 100.0) for n in lines) < LINE_TOLERANCE


def test_svg_line_by_svgpathtools(made):
    lengths = about_100([length(p) for p in svg_paths(made / "ruler.svg") if len(p) == 2])
    assert len(lengths) == 1
    assert abs(lengths[0] - 100.0) < LINE_TOLERANCE


def test_svg_line_by_svgelements(made):
    # At 25.4 pixels an inch, one of its pixels is a millimetre.
    svg = svgelements.SVG.parse(str(made / "ruler.svg"), ppi=25.4)
    paths = [e for e in svg.elements() if isinstance(e, svgelements.Path)]
    lengths = about_100([float(p.length(error=1e-9)) for p in paths])
    assert len(lengths) == 1
    assert abs(lengths[0] - 100.0) < LINE_TOLERANCE


def test_dxf_line_by_ezdxf(made):
    paths = [(layer, length(p)) for layer, _, p in dxf_paths(made / "ruler.dxf") if len(p) == 2]
    lines = [(layer, n) for layer, n in paths if about_100([n])]
    assert sorted(layer for layer, _ in lines) == ["MARK", "TEXT"]
    assert max(abs(n - 100.0) for _, n in lines) < LINE_TOLERANCE


def test_dxf_line_and_area_by_trimesh(made):
    drawing = trimesh.load(str(made / "ruler.dxf"))
    assert drawing.units == "millimeters"
    lines = [e.length(drawing.vertices) for e in drawing.entities if len(e.points) == 2]
    assert len(about_100(lines)) == 2
    assert max(abs(n - 100.0) for n in about_100(lines)) < LINE_TOLERANCE
    areas = sorted(p.area for p in drawing.polygons_closed if p is not None)
    assert areas == pytest.approx([100.0 * 100.0, AREA], rel=AREA_TOLERANCE)


# --- areas ----------------------------------------------------------------------------------------


def test_areas_agree(made):
    page = open_pdf(made / "ruler.pdf")[0]
    # Cut lines in the order of the drawing: the square, then the outline.
    pdf = [Polygon(p).area for w, p in pdf_paths(page, weight=0.25)]
    svg = [Polygon(p).area for p in svg_paths(made / "ruler.svg")[:2]]
    dxf = [Polygon(p).area for layer, closed, p in dxf_paths(made / "ruler.dxf") if closed]
    for areas in (pdf, svg, dxf):
        assert areas == pytest.approx([100.0 * 100.0, AREA], rel=AREA_TOLERANCE)


def test_outlines_lie_on_each_other(made):
    """The same points to 0.001 mm, once the lower left corners are laid on each other."""
    page = open_pdf(made / "ruler.pdf")[0]
    outlines = [
        pdf_paths(page, weight=0.25)[1][1],
        svg_paths(made / "ruler.svg")[1],
        [p for _, closed, p in dxf_paths(made / "ruler.dxf") if closed][1],
    ]
    rings = [Polygon(p - p.min(axis=0)).exterior for p in outlines]
    for ring in rings[1:]:
        assert rings[0].hausdorff_distance(ring) < 0.002
    assert np.ptp(outlines[0], axis=0) == pytest.approx([420.0, 300.0], abs=0.001)


# --- the rules of each format ---------------------------------------------------------------------


def test_dxf_audit_finds_nothing(made):
    document = ezdxf.readfile(made / "ruler.dxf")
    assert document.dxfversion == "AC1009"
    audit = document.audit()
    assert (len(audit.errors), len(audit.fixes)) == (0, 0)
    _, audit = ezdxf.recover.readfile(made / "ruler.dxf")
    assert (len(audit.errors), len(audit.fixes)) == (0, 0)
    layers = {layer.dxf.name for layer in document.layers}
    assert {"CUT", "MARK", "TEXT"} <= layers
    types = {e.dxf.linetype for e in document.modelspace().query("POLYLINE")}
    assert {"DASHED", "CHAIN"} <= types
    assert (made / "ruler.dxf").read_bytes().isascii()


def test_dxf_texts(made):
    texts = {t.dxf.layer: t for t in ezdxf.readfile(made / "ruler.dxf").modelspace().query("TEXT")[:3]}
    assert texts["CUT"].plain_text() == 'Cut: 100 % & <half> "1/2" ±2°'
    assert texts["MARK"].plain_text() == "Mark - Ø8 x 3 <= 5 -> %%d"
    assert texts["TEXT"].plain_text() == "Lodz\\path ^caret 'e'"
    align, at, _ = texts["MARK"].get_placement()
    assert align.name == "CENTER"
    assert (at.x, at.y) == pytest.approx((390.0 - 37.25, 60.0 + 12.5), abs=1e-6)
    notes = [t.plain_text() for t in ezdxf.readfile(made / "ruler.dxf").modelspace().query("TEXT")]
    assert any("1 unit = 1 mm" in n for n in notes)


def test_svg_is_upright_and_escaped(made):
    tree = etree.parse(str(made / "ruler.svg"))
    space = {"s": "http://www.w3.org/2000/svg"}
    assert tree.findtext("s:title", namespaces=space) == TITLE
    groups = [g.get("id") for g in tree.iterfind("s:g", namespaces=space)]
    assert groups == ["area", "cut", "mark", "text"]
    words = {t.text: t for t in tree.iterfind(".//s:text", namespaces=space)}
    assert 'Cut: 100 % & <half> "½" ±2°' in words
    # Turned counter-clockwise on paper is a negative angle in a frame with y down.
    assert words["Mark – Ø8 × 3 ≤ 5 → %%d"].get("transform").startswith("rotate(-90 ")
    assert not any("scale" in (e.get("transform") or "") for e in tree.iter())
    # The half circle is bitten out of the top: y down, so at small y.
    outline = svg_paths(made / "ruler.svg")[1]
    low, high = outline.min(axis=0), outline.max(axis=0)
    assert not Polygon(outline).contains(Point(low[0] + 210.0, high[1] - 20.0))
    assert Polygon(outline).contains(Point(low[0] + 210.0, low[1] + 20.0))


def test_pdf_is_one_page_at_full_scale(made):
    document = open_pdf(made / "ruler.pdf")
    assert len(document) == 1
    assert document.metadata["title"] == TITLE
    assert not document.metadata["creationDate"]
    for name in ("ruler.pdf", "ruler-a4.pdf", "instructions-letter.pdf"):
        assert b"UserUnit" not in (made / name).read_bytes()
        document = open_pdf(made / name)
        assert not document.is_repaired
        catalog = document.xref_object(document.pdf_catalog())
        assert re.search(r"/PrintScaling\s*/None", catalog)
        fonts = {font[3] for page in document for font in page.get_fonts()}
        assert fonts <= {"Helvetica", "Helvetica-Bold"}


def test_pdf_texts_hang_where_they_should(made):
    page = open_pdf(made / "ruler.pdf")[0]
    spans = [s for b in page.get_text("dict")["blocks"] for l in b.get("lines", []) for s in l["spans"]]
    by_start = {s["text"].split()[0]: s for s in spans}
    cut, mark = by_start["Cut:"], by_start["Mark"]
    assert cut["text"] == 'Cut: 100 % & <half> "½" ±2°'
    assert mark["text"] == "Mark – Ø8 × 3 <= 5 -> %%d"
    assert cut["size"] * 0.718 * MM == pytest.approx(5.0, abs=0.001)
    # The outline's lower left corner, from which the drawing's own dimensions are taken.
    corner = pdf_paths(page, weight=0.25)[1][1].min(axis=0)
    start = np.array([cut["origin"][0], page.rect.height - cut["origin"][1]]) * MM - corner
    assert start == pytest.approx([230.0, 140.0], abs=0.01)
    # Turned by 90 degrees and centred: it begins half its length below its point.
    half = pymupdf.Font("helv").text_length(mark["text"], mark["size"]) * MM / 2
    start = np.array([mark["origin"][0], page.rect.height - mark["origin"][1]]) * MM - corner
    assert start == pytest.approx([390.0, 60.0 - half], abs=0.02)


@pytest.mark.parametrize("table, font", [("REGULAR", "helv"), ("BOLD", "hebo")])
def test_letter_widths(table, font):
    """Our table of widths against PyMuPDF's own measure of the same letters."""
    source = (ROOT / "crates/cutting/src/text/helvetica.rs").read_text()
    numbers = re.search(rf"const {table}: \[u16; 224\] = \[(.*?)\]", source, re.S).group(1)
    widths = [int(n) for n in re.findall(r"\d+", numbers)]
    assert len(widths) == 224
    measure = pymupdf.Font(font)
    compared = 0
    for code, width in enumerate(widths, start=32):
        letter = bytes([code]).decode("cp1252", "ignore")
        if not letter or letter.isspace() and letter != " " or code in (0x7F, 0xAD):
            continue  # controls, and a hyphen that is only seen at the end of a line
        assert width == pytest.approx(measure.text_length(letter, 1000), abs=1.0), letter
        if ord(letter) < 256:  # all that the simpler measure knows
            assert width == pytest.approx(pymupdf.get_text_length(letter, font, 1000), abs=1.0)
        compared += 1
    assert compared > 210
