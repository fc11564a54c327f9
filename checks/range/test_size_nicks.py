"""The size read off the bare outline of each piece, without a word, as the sheet explains it."""

import numpy as np
import pymupdf
import pytest
import shapely

from piece_files import read_dxf, read_svg
from piece_margin import counter_clockwise, split_cuts


def last_figure(pattern):
    """The last figure of the size with its half, and the foot, from cut lines alone.

    In the margin of the outside wing, forward of its one nick: slanting towards the wing's end
    counts five, straight one, slanting back a half; ten stands for nought. The inside wing has
    two nicks for a left foot, three for a right one.
    """
    border = shapely.LinearRing(counter_clockwise(pattern.outline.points))
    nicks, _ = split_cuts(pattern.outline.points, [cut.points for cut in pattern.cuts])
    # The outer face is up: the centre back is at the origin, groups lie to its left and right.
    sides = {sign: sorted((n for n in nicks if n[0][0] * sign > 3), key=lambda n: abs(n[0][0]))
             for sign in (-1, 1)}
    groups = {}
    for sign, found in sides.items():
        across = np.abs([mouth[0] for mouth, _ in found])
        groups[sign] = np.split(np.arange(len(found)), np.flatnonzero(np.diff(across) > 7.0) + 1)
    [outside] = [sign for sign in groups if len(groups[sign][0]) == 1]
    [inside] = [group for group in groups[-outside]]
    assert len(groups[outside]) == 2, groups
    figure = 0.0
    for i in groups[outside][1]:
        mouth, inner = sides[outside][i]
        at = border.project(shapely.Point(mouth))
        before, after = (np.array(border.interpolate(at + d).coords[0]) for d in (-0.5, 0.5))
        forward = (after - before) / np.linalg.norm(after - before)
        forward *= np.sign(forward[0]) * outside
        lean = float((inner - mouth) @ forward)
        figure += 1.0 if abs(lean) < 0.5 else 5.0 if lean > 0 else 0.5
        assert abs(lean) < 0.5 or abs(lean) > 1.5
    return (figure - 10.0 if figure >= 10.0 else figure), {2: "left", 3: "right"}[len(inside)]


@pytest.mark.parametrize("foot", ["left", "right"])
@pytest.mark.parametrize("eu", range(35, 49))
def test_each_piece_tells_its_size(drafted, eu, foot):
    for ending, read in ((".dxf", read_dxf), (".svg", read_svg)):
        told = last_figure(read(drafted.file(f"EU {eu}", foot, ending)))
        assert told == (eu % 10, foot)


def test_halves_and_short_wings(demo_job, featherline, draft_sizes, tmp_path):
    """Half sizes; and a piece so short that there may be no room says so where there is none."""
    import shutil

    job = tmp_path / "job"
    shutil.copytree(demo_job, job)
    halves = draft_sizes(job, "EU 38, 38.5, 39.5, 40.5, 45.5", "--feet", "right")
    for size in (38.0, 38.5, 39.5, 40.5, 45.5):
        pattern = read_dxf(halves.file(f"EU {size:g}", "right", ".dxf"))
        assert last_figure(pattern) == (size % 10, "right")
        assert halves.piece(f"EU {size:g}")["size_nicks"]
    for key in ("medial", "lateral"):
        assert featherline("set", job, f"stiffener.{key}.length", "short").returncode == 0
    short = draft_sizes(job, "EU 39, 39.5", "--feet", "right")
    for size in ("EU 39", "EU 39.5"):
        if short.piece(size)["size_nicks"] is None:
            warned = [w["message"] for w in short.piece(size)["warnings"]]
            assert any("no room for the nicks that tell the size" in w for w in warned)
        else:
            assert last_figure(read_dxf(short.file(size, "right", ".dxf")))[1] == "right"


def test_the_sheet_explains_them(drafted):
    sheet = pymupdf.open(drafted.folder / "range.pdf")
    words = " ".join(page.get_text() for page in sheet)
    assert "The nicks that tell the size" in words and "counts five" in words
