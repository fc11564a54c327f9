"""The exported patterns against the surface the piece was made on, and against each other.

Readers: ezdxf, svgpathtools, PyMuPDF; outlines by shapely (validity, area, containment).
"""

import numpy as np
import pytest
import shapely

from piece_drafted import length

CASES = [
    # EU size, foot, heel height, edge radius
    (36, "right", 25, 0),
    (39, "left", 45, 0),
    (42, "right", 15, 2),
    (46, "left", 35, 0),
]
FORMATS = ["dxf", "svg", "pdf"]

# What a pattern maker's ruler may find between the piece where it lies and the paper, mm.
KEPT_LENGTH = 0.5
# Between formats: relative difference of the area of the piece.
SAME_AREA = 1e-4


@pytest.fixture(scope="module", params=CASES, ids=lambda c: "eu{}-{}-h{}-r{}".format(*c))
def piece(request, drafted):
    return drafted(*request.param)


@pytest.mark.parametrize("name", FORMATS)
def test_lines_keep_their_lengths(piece, name):
    pattern, lies = piece.patterns[name], piece.surface("where-it-lies")
    on_piece = length(lies.line("centre_back"))
    assert pattern.centre_back.length == pytest.approx(on_piece, abs=KEPT_LENGTH)

    feather = pattern.feather
    left, right = lies.wing_lengths()
    assert feather.length == pytest.approx(left + right, abs=2 * KEPT_LENGTH)
    # The mark is split at the seat, by length along its fine points.
    at_seat = int(np.argmin(np.linalg.norm(feather.points, axis=1)))
    assert np.linalg.norm(feather.points[at_seat]) < 0.3
    assert length(feather.points[: at_seat + 1]) == pytest.approx(left, abs=KEPT_LENGTH)
    assert length(feather.points[at_seat:]) == pytest.approx(right, abs=KEPT_LENGTH)


@pytest.mark.parametrize("name", FORMATS)
def test_top_edge_does_not_gape(piece, name):
    pattern, lies = piece.patterns[name], piece.surface("where-it-lies")
    ring = pattern.outline.points[:-1]
    ends = pattern.feather.points[[0, -1]]
    left, right = (int(np.argmin(np.linalg.norm(ring - end, axis=1))) for end in ends)
    runs = [np.roll(ring, -left, axis=0)[: (right - left) % len(ring) + 1]]
    runs.append(np.roll(ring, -right, axis=0)[: (left - right) % len(ring) + 1])
    top = max(runs, key=lambda run: run[:, 1].max())
    assert length(top) <= length(lies.line("free_edge"))


@pytest.mark.parametrize("name", FORMATS)
def test_outline_is_simple_and_holds_every_mark(piece, name):
    pattern = piece.patterns[name]
    polygon = shapely.Polygon(pattern.outline.points)
    assert polygon.is_valid, shapely.is_valid_reason(polygon)
    assert polygon.exterior.is_simple
    assert polygon.area == pytest.approx(abs(pattern.outline.area), rel=1e-5)
    # Lines on the border itself are drawn with arcs of a hundredth of a millimetre's tolerance.
    inside = polygon.buffer(0.05)
    for line in pattern.marks + pattern.cuts:
        assert inside.covers(shapely.LineString(line.points)), (line.layer, line.points[[0, -1]])


def test_formats_agree_on_the_area(piece):
    areas = {name: abs(piece.patterns[name].outline.area) for name in FORMATS}
    assert min(areas.values()) > 8000
    for name, area in areas.items():
        assert area == pytest.approx(areas["dxf"], rel=SAME_AREA), areas


def test_flat_surface_is_sound(piece):
    flat = piece.surface("flat")
    assert np.abs(flat.vertices[:, 2]).max() < 1e-9
    a, b, c = (flat.vertices[flat.faces[:, k], :2] for k in range(3))
    u, v = b - a, c - a
    twice = u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0]
    assert twice.min() > 0.0, "a triangle is flipped"

    ring = np.concatenate([flat.lines["feather_line"], flat.lines["free_edge"][1:]])
    assert ring[0] == ring[-1]
    edges = np.sort(flat.mesh.edges, axis=1)
    _, count = np.unique(edges, axis=0, return_counts=True)
    assert len(ring) - 1 == (count == 1).sum(), "the two lines are not the whole border"
    border = shapely.Polygon(flat.vertices[ring, :2])
    assert border.is_valid, shapely.is_valid_reason(border)
    assert border.area == pytest.approx(twice.sum() / 2, rel=1e-9)


def test_flat_surface_and_pattern_are_one(piece):
    """The wall of the cut outline is the border of the flat surface."""
    flat, outline = piece.surface("flat"), piece.patterns["dxf"].outline
    polygon = shapely.LineString(outline.points)
    for place in flat.line("free_edge")[:, :2]:
        assert polygon.distance(shapely.Point(place)) < 0.02


def test_marks_in_the_flat_surface_lie_inside(piece):
    flat = piece.surface("flat")
    outline = shapely.Polygon(piece.patterns["dxf"].outline.points).buffer(0.02)
    for name in ("feather_line", "centre_back"):
        assert outline.covers(shapely.LineString(flat.line(name)[:, :2])), name
