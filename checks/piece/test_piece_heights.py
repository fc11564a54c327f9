"""Heights of the finished piece, measured again on the last by sections and geodesics."""

import json

import numpy as np
import pytest
import shapely
import trimesh

from piece_drafted import length
from piece_heights import FeatherLine, between, edge_profile, geodesic_heights, project

# EU size, standard last length, ceiling outside and inside, back height with 3 mm for settling;
# all mm. The rule: common practice, no source. Held against ANSUR II (US Army, 2012, report
# NATICK/TR-15/007, public release) where the table was made.
RULE = {
    36: (240.0, 40.0, 46.5, 51.0),
    37: (246.7, 40.6, 46.9, 52.3),
    38: (253.3, 41.1, 47.3, 53.7),
    39: (260.0, 41.7, 47.7, 55.0),
    40: (266.7, 42.2, 48.1, 56.3),
    41: (273.3, 42.8, 48.4, 57.7),
    42: (280.0, 43.3, 48.8, 59.0),
    43: (286.7, 43.9, 49.2, 60.3),
    44: (293.3, 44.4, 49.6, 61.7),
    45: (300.0, 45.0, 50.0, 63.0),
    46: (306.7, 45.0, 50.0, 64.3),
}
# Where the ankles are by default, as shares of the standard last length. Common practice, no source.
ANKLE = {"medial": 0.28, "lateral": 0.22}
ANKLE_REACH = 18.0
# What a ruler can tell, mm.
RULER = 0.1
# The table gives one decimal.
ROUNDED = 0.05

CASES = [
    # EU size, foot, heel height, edge radius
    (36, "right", 25, 0),
    (36, "left", 45, 2),
    (37, "left", 15, 0),
    (38, "right", 35, 2),
    (39, "left", 45, 0),
    (40, "right", 25, 2),
    (41, "left", 15, 2),
    (42, "right", 15, 2),
    (43, "left", 25, 0),
    (44, "right", 45, 2),
    (45, "left", 30, 0),
    (46, "right", 45, 0),
]


@pytest.fixture(scope="module", params=CASES, ids=lambda c: "eu{}-{}-h{}-r{}".format(*c))
def case(request, drafted):
    return request.param, drafted(*request.param)


@pytest.fixture(scope="module")
def profile(case):
    return edge_profile(case[1].surface("on-last"))


def expected(case):
    return RULE[case[0][0]]


def test_back_height_on_the_bare_last(case):
    piece = case[1]
    surface = piece.surface("on-last")
    seat, top = surface.line("centre_back")[[0, -1]]
    feather = FeatherLine(surface.line("feather_line"))
    normal = feather.direction(feather.below(seat))
    height, off = between(piece.last, seat, top, normal)
    assert off < RULER, "the centre back leaves the plane square to the feather line"
    assert height == pytest.approx(expected(case)[3], abs=RULER)
    # The frame's origin; on a rounded edge the piece may begin a tenth beside it.
    assert np.linalg.norm(seat) < RULER


def test_feather_line_is_where_it_was_built(case, built_last):
    """On a sharp edge; a rounded one leaves open where on its bend the line runs."""
    (eu, foot, heel, radius), piece = case
    if radius:
        pytest.skip("rounded")
    scan = built_last(eu, foot, heel, radius)
    truth = json.loads(scan.with_name(scan.name + ".truth.json").read_text())
    built = trimesh.load(scan, process=False)
    assert len(built.vertices) == len(piece.last.vertices)
    matrix, moved, cost = trimesh.registration.procrustes(
        built.vertices, piece.last.vertices, reflection=False, scale=False
    )
    assert cost < 1e-6, "the standing last is the scan, moved"
    line = trimesh.transform_points(np.array(truth["feather_line"]), matrix)
    line = np.vstack([line, line[:1]])
    apart = [project(line, place)[0] for place in piece.surface("on-last").line("feather_line")]
    assert max(apart) < 0.5
    seat = trimesh.transform_points([truth["seat"]], matrix)[0]
    assert np.linalg.norm(seat) < 1.0


@pytest.mark.parametrize("side", ["medial", "lateral"])
def test_edge_stays_under_the_ankle(case, profile, side):
    piece = case[1]
    sll, outside, inside, _ = expected(case)
    ceiling = inside if side == "medial" else outside
    numbers, places, _, heights = profile
    y = piece.medial_sign() * (1 if side == "medial" else -1)
    ankle = ANKLE[side] * case[0][0] * 20 / 3
    near = (places[:, 1] * y > 0) & (np.abs(places[:, 0] - ankle) <= ANKLE_REACH)
    assert near.sum() > 20
    # The table's ceilings are rounded to one decimal.
    assert heights[near].max() <= ceiling - 1.0 + ROUNDED
    # The shortest way over the wall can only be shorter than the ruler's.
    geodesic = geodesic_heights(piece.surface("on-last"))[numbers]
    assert geodesic[near].max() <= ceiling - 1.0 + ROUNDED
    assert (geodesic <= heights + 0.05).all()
    assert np.abs(geodesic - heights)[near].max() < 1.0
    # The edge is not needlessly low: it comes within three millimetres of the ceiling.
    assert heights[near].max() > ceiling - 4.0


def test_edge_is_highest_and_square_at_the_back(case, profile):
    back = expected(case)[3]
    _, _, along, heights = profile
    assert heights.max() <= back + RULER
    square = np.abs(along) <= 3.0
    assert square.sum() >= 5
    assert np.abs(heights[square] - back).max() < RULER
    slope = np.polyfit(along[square], heights[square], 1)[0]
    assert abs(slope) < 0.01
    # From the back forward it never rises again but to leave the ankle's ceiling.
    assert heights[np.abs(along) > 12].max() < back


def test_edge_is_square_on_the_flat_piece(case):
    outline = case[1].patterns["dxf"].outline.points
    top = case[1].patterns["dxf"].centre_back.points[-1]
    line = shapely.LineString(outline)
    at = line.project(shapely.Point(top))
    near = {mm: np.array(line.interpolate(at + mm).coords[0]) - top for mm in (-3, -1, 0, 1, 3)}
    assert np.linalg.norm(near[0]) < 0.02
    # No corner, and the tangent square to the centre back (over 2 mm, as a square is laid on).
    right, left = near[-1], near[1]
    assert right[0] > 0 > left[0]
    tilt = np.degrees(np.arctan2(*(right - left)[::-1]))
    assert abs(tilt) < 1.5, tilt
    # Three millimetres to either side a square shows less light than a cut is wide.
    assert max(-near[-3][1], -near[3][1]) < 0.25
    assert outline[:, 1].max() <= top[1] + 0.1


def test_report_says_the_three_lengths(case):
    piece = case[1]
    states = {"on the last": "on-last", "where the piece lies": "where-it-lies", "flat": "flat"}
    medial_is_left = piece.foot == "right"
    for words, name in states.items():
        surface = piece.surface(name)
        left, right = surface.wing_lengths()
        medial, lateral = (left, right) if medial_is_left else (right, left)
        for line, own in [
            ("centre back", length(surface.line("centre_back"))),
            ("inside wing along the feather line", medial),
            ("outside wing along the feather line", lateral),
            ("top edge with both ends", length(surface.line("free_edge"))),
        ]:
            assert piece.dimension(f"{line}, {words}") == pytest.approx(own, abs=0.005), line


def test_inside_wing_is_the_longer(case):
    left, right = case[1].surface("on-last").wing_lengths()
    assert (left > right) == (case[1].foot == "right")


def test_piece_lies_outside_the_lining(case):
    """Lining 1.0 and half of 2.5 mm leather: the middle of the piece is 2.25 mm off the last."""
    piece = case[1]
    lies, on = piece.surface("where-it-lies"), piece.surface("on-last")
    assert (lies.faces == on.faces).all()
    border = np.concatenate([on.lines["feather_line"], on.lines["free_edge"]])
    apart = np.min(
        np.linalg.norm(on.vertices[:, None] - on.vertices[border][None, ::3], axis=2), axis=1
    )
    inner = np.flatnonzero(apart > 6.0)[::5]
    assert len(inner) > 150
    distance = trimesh.proximity.signed_distance(piece.last, lies.vertices[inner])
    # Outside is negative in trimesh. Triangles of 2.5 mm on a bend of 25 mm: 0.03 mm of sag.
    assert np.abs(-distance - 2.25).max() < 0.1
