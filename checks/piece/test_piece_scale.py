"""The files of a drafted job at full scale: the 100 mm line by two readers a format, and the audit.

A pattern maker measures this line before anything is cut.
"""

import ezdxf
import numpy as np
import pdfplumber
import pymupdf
import pytest
import svgelements
import svgpathtools
import trimesh

MM = 25.4 / 72.0
TOLERANCE = 0.001


@pytest.fixture(scope="module")
def folder(built_last, new_job, draft_job):
    return draft_job(new_job(built_last(36, "right"), "EU 36", "right")).folder


def hundred(lengths):
    """The lengths that are meant to be 100 mm."""
    found = [n for n in lengths if abs(n - 100.0) < 0.5]
    assert found, sorted(lengths)
    return np.array(found)


def ruled(height):
    """Whether something so high, mm, may be the line of 100 mm or the square."""
    return height < 0.01 or abs(height - 100.0) < 0.5


def test_pdf(folder):
    for name in ("stiffener.pdf", "stiffener-a4.pdf", "stiffener-letter.pdf"):
        pages = list(pymupdf.open(folder / name))
        with pdfplumber.open(folder / name) as plumbed:
            for page, other in zip(pages, plumbed.pages, strict=True):
                # Level lines and squares only: a skive line may happen to be nearly as wide.
                strokes = [d["rect"] for d in page.get_drawings() if d["type"] == "s"]
                drawn = [r.width * MM for r in strokes if ruled(r.height * MM)]
                assert np.abs(hundred(drawn) - 100.0).max() < TOLERANCE
                seen = other.lines + other.rects + other.curves
                seen = [o for o in seen if ruled(o["height"] * MM)]
                assert np.abs(hundred([o["width"] * MM for o in seen]) - 100.0).max() < TOLERANCE


def test_first_sheet_has_a_square(folder):
    for name in ("stiffener-a4.pdf", "stiffener-letter.pdf"):
        boxes = [d["rect"] for d in pymupdf.open(folder / name)[0].get_drawings()]
        sides = [(b.width * MM, b.height * MM) for b in boxes]
        assert any(abs(w - 100) < TOLERANCE and abs(h - 100) < TOLERANCE for w, h in sides)


def test_svg(folder):
    paths, _, root = svgpathtools.svg2paths2(str(folder / "stiffener.svg"))
    width, height = (float(root[k].removesuffix("mm")) for k in ("width", "height"))
    assert root["viewBox"].split()[2:] == [f"{width:g}", f"{height:g}"] or np.allclose(
        [float(v) for v in root["viewBox"].split()[2:]], [width, height]
    )
    lines = [p for p in paths if len(p) == 1]
    assert np.abs(hundred([abs(p.end - p.start) for p in lines]) - 100.0).max() < TOLERANCE
    # At 25.4 pixels an inch, one pixel of this reader is a millimetre.
    svg = svgelements.SVG.parse(str(folder / "stiffener.svg"), ppi=25.4)
    drawn = [e for e in svg.elements() if isinstance(e, svgelements.Path) and len(e) == 2]
    lengths = [float(e.length(error=1e-9)) for e in drawn]
    assert np.abs(hundred(lengths) - 100.0).max() < TOLERANCE


def test_dxf(folder):
    document = ezdxf.readfile(folder / "stiffener.dxf")
    audit = document.audit()
    assert (len(audit.errors), len(audit.fixes)) == (0, 0)
    lines = document.modelspace().query("POLYLINE[layer=='TEXT']")
    ends = [[v.dxf.location for v in line.vertices] for line in lines]
    lengths = [a.distance(b) for a, b in (pair for pair in ends if len(pair) == 2)]
    assert np.abs(hundred(lengths) - 100.0).max() < TOLERANCE
    drawing = trimesh.load(str(folder / "stiffener.dxf"))
    assert drawing.units == "millimeters"
    short = [e.length(drawing.vertices) for e in drawing.entities if len(e.points) == 2]
    assert np.abs(hundred(short) - 100.0).max() < TOLERANCE
