"""The exported patterns against the surface the piece was made on, and against each other.

Readers: ezdxf, svgpathtools, PyMuPDF; outlines by shapely (validity, area, containment).
"""

import numpy as np
import pytest
import shapely

from piece_drafted import length
from piece_margin import counter_clockwise

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
    assert length(free_edge(pattern)) <= length(lies.line("free_edge"))


def free_edge(pattern):
    """The cut outline above the wing ends, from the right one over the top to the left."""
    ring = counter_clockwise(pattern.outline.points)
    ends = pattern.feather.points[[0, -1]]
    left, right = (int(np.argmin(np.linalg.norm(ring - end, axis=1))) for end in ends)
    return np.roll(ring, -right, axis=0)[: (left - right) % len(ring) + 1]


def test_edge_can_be_cut_in_one_stroke(piece):
    """Between its rounded wing corners the free edge has no step: 2 mm chords turn gently."""
    edge = shapely.LineString(free_edge(piece.patterns["dxf"]))
    at = np.arange(0.0, edge.length, 1.0)
    points = np.array([edge.interpolate(a).coords[0] for a in at])
    chord = points[2:] - points[:-2]
    angles = np.unwrap(np.arctan2(chord[:, 1], chord[:, 0]))
    turn = np.degrees(np.abs(angles[2:] - angles[:-2]))
    middle = slice(30, len(turn) - 30)
    worst = int(np.argmax(turn[middle])) + 30
    # 10 degrees in 2 mm is a bend of 11 mm radius: a knife, or a thumb, still follows it.
    assert turn[worst] < 10.0, f"{turn[worst]:.0f} degrees within 2 mm at {points[worst + 2]}"


def test_feather_mark_is_smooth(piece):
    """A line that a pattern maker draws with a curve: no zigzag of the scan's triangles in it."""
    line = shapely.LineString(piece.patterns["dxf"].feather.points)
    points = np.array([line.interpolate(a).coords[0] for a in np.arange(0.0, line.length, 1.0)])
    chord = points[2:] - points[:-2]
    turn = np.degrees(np.diff(np.unwrap(np.arctan2(chord[:, 1], chord[:, 0]))))
    assert np.abs(turn[2:-2]).max() < 6.0


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
