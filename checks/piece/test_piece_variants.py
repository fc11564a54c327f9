"""Every choice of a job drafts, and its own rule is seen to hold by measuring the piece again."""

import json

import numpy as np
import pytest
import trimesh

from piece_files import nearest
from piece_heights import FeatherLine, between, edge_profile
from piece_margin import split_cuts, vees

EU, FOOT, SLL = 39, "left", 260.0
# Default heights at this size, mm: back SLL / 5 + 3, ceilings by the rule table.
BACK, OUTSIDE, INSIDE = 55.0, 41.67, 47.67
ANKLE = {"medial": 0.28 * SLL, "lateral": 0.22 * SLL}
SIDES = ("medial", "lateral")


def on(piece, side, places):
    """Which of the places lie on one side of the last."""
    return places[:, 1] * piece.medial_sign() * (1 if side == "medial" else -1) > 0


def highest_at_ankle(piece, side, zero=0.0):
    _, places, _, heights = edge_profile(piece.surface("on-last"))
    near = on(piece, side, places) & (np.abs(places[:, 0] - ANKLE[side]) <= 18.0)
    return heights[near].max() - zero


def back_height(piece):
    surface = piece.surface("on-last")
    seat, top = surface.line("centre_back")[[0, -1]]
    feather = FeatherLine(surface.line("feather_line"))
    return between(piece.last, seat, top, feather.direction(feather.below(seat)))[0]


def margin_width(piece):
    """Distance of the outer edge from the feather mark round the seat and the sides, mm."""
    pattern = piece.patterns["dxf"]
    feather, outline = pattern.feather.points, pattern.outline.points
    inner = [vee.point for vee in vees(outline)]
    widths = []
    for place in outline:
        below = place[1] < np.interp(place[0], *feather.T) - 1.0
        edge = all(np.linalg.norm(place - point) > 0.01 for point in inner)
        if below and edge and abs(place[0]) < 60.0:
            widths.append(nearest(feather, place))
    return np.median(widths)


def wing_end_x(piece, side):
    """How far forward of the seat one wing ends on the feather line, mm along the axis."""
    ends = piece.surface("on-last").line("feather_line")[[0, -1]]
    return float(ends[on(piece, side, ends)][0, 0])


def test_insole_on_the_last_is_taken_off_once(drafted):
    piece = drafted(EU, FOOT, **{"stiffener.insole_on_last": "true"})
    # Its edge is then below the feather line: 2 mm of wall belong to the insole.
    assert back_height(piece) == pytest.approx(BACK + 2.0, abs=0.1)
    assert highest_at_ankle(piece, "medial", 2.0) <= INSIDE - 1.0
    assert highest_at_ankle(piece, "lateral", 2.0) <= OUTSIDE - 1.0
    # And the margin does not pass it a second time.
    plain = drafted(EU, FOOT)
    assert margin_width(plain) - margin_width(piece) == pytest.approx(2.0, abs=0.15)
    # Of the lines that run along the whole piece one is gone, the insole's edge. (The skive of the
    # margin is drawn in parts between V's.)
    def whole(pattern):
        return [line for line in pattern.marks if line.length > 300.0]

    assert len(whole(piece.patterns["dxf"])) == len(whole(plain.patterns["dxf"])) - 1


# Net margins and insoles, mm, by construction: common practice, no source.
CONSTRUCTIONS = {
    "cemented": ((12.0, 15.0), 2.0, 1.6),
    "welted": ((15.0, 20.0), None, 1.6),
    "strobel": ((3.0, 6.0), None, 1.6),
    "stitched_outward": (None, 0.0, 0.0),
}


@pytest.mark.parametrize("construction", CONSTRUCTIONS)
def test_margin_by_construction(drafted, construction):
    net, insole, rounding = CONSTRUCTIONS[construction]
    piece = drafted(EU, FOOT, **{"stiffener.construction": construction})
    assert back_height(piece) == pytest.approx(BACK, abs=0.1)
    whole = margin_width(piece)
    beneath = piece.dimension("lining thickness") + piece.dimension("stiffener thickness") / 2
    insole = piece.dimension("insole edge below the feather line") if insole is None else insole
    left = whole - insole - rounding * beneath
    if net:
        assert net[0] - 0.1 <= left <= net[1] + 0.1
    if construction == "welted":
        assert 3.5 <= insole <= 4.5
    assert left == pytest.approx(piece.dimension("lasting margin, net"), abs=0.15)
    if construction == "stitched_outward":
        # Turned outward the edge is longer than the feather line: it opens, it does not gather.
        nicks, slits = split_cuts(
            piece.patterns["dxf"].outline.points, [c.points for c in piece.patterns["dxf"].cuts]
        )
        assert vees(piece.patterns["dxf"].outline.points) == []
        assert slits


@pytest.mark.parametrize("kind", ["leather", "fibreboard", "thermoplastic", "moulded"])
def test_every_kind_drafts_and_lies_where_its_thickness_says(drafted, kind):
    piece = drafted(EU, FOOT, **{"stiffener.kind": kind})
    lies, bare = piece.surface("where-it-lies"), piece.surface("on-last")
    assert back_height(piece) == pytest.approx(BACK, abs=0.1)
    border = np.concatenate([bare.line("feather_line"), bare.line("free_edge")])
    inner = [i for i in range(0, len(bare.vertices), 17) if nearest(border, bare.vertices[i]) > 6.0]
    distance = trimesh.proximity.closest_point(piece.last, lies.vertices[inner])[1]
    off = piece.dimension("lining thickness") + piece.dimension("stiffener thickness") / 2
    assert np.abs(distance - off).max() < 0.1


@pytest.mark.parametrize("other", ["long", "short"])
def test_short_wing_ends_past_the_breast(drafted, other):
    piece = drafted(
        EU, FOOT, **{"stiffener.lateral.length": "short", "stiffener.medial.length": other}
    )
    # The heel breast lies at a quarter of the length; 10 mm past it.
    assert wing_end_x(piece, "lateral") == pytest.approx(SLL / 4 + 10.0, abs=0.2)
    long = drafted(EU, FOOT)
    expected = wing_end_x(long, "medial") if other == "long" else SLL / 4 + 10.0
    assert wing_end_x(piece, "medial") == pytest.approx(expected, abs=0.2)
    # Without a dip: from the back forward the edge only falls; its end leans backwards.
    _, places, along, heights = edge_profile(piece.surface("on-last"), piece.last)
    # The end itself leans and is rounded; the edge ends before it.
    run = on(piece, "lateral", places)
    run &= np.abs(along) < np.abs(along[run]).max() - 15.0
    order = np.argsort(np.abs(along[run]))
    assert np.diff(heights[run][order]).max() < 0.05
    edge = piece.surface("on-last").line("free_edge")
    edge = edge[on(piece, "lateral", edge)]
    ends = edge[0] if abs(edge[0, 0] - wing_end_x(piece, "lateral")) < 0.1 else edge[-1]
    assert edge[:, 0].max() < ends[0] + 1.0


def test_mid_waist_wing_ends_half_way(drafted):
    piece = drafted(EU, FOOT, **{"stiffener.medial.length": "mid_waist"})
    # Long ends 15 mm behind the joint; half-way lies between the breast and the joint itself.
    joint = wing_end_x(drafted(EU, FOOT), "medial") + 15.0
    assert wing_end_x(piece, "medial") == pytest.approx((SLL / 4 + joint) / 2, abs=0.5)
    assert wing_end_x(piece, "lateral") == pytest.approx(
        wing_end_x(drafted(EU, FOOT), "lateral"), abs=0.1
    )


@pytest.mark.parametrize("side", SIDES)
@pytest.mark.parametrize("asked", [36.0, 45.0])
def test_wearers_own_ankle_wins(drafted, side, asked):
    """Over the rule and over an entered ceiling, downwards and upwards."""
    settings = {f"wearer.ankle_{side}": asked, f"stiffener.{side}.ceiling": 39.0}
    piece = drafted(EU, FOOT, **settings)
    assert back_height(piece) == pytest.approx(BACK, abs=0.1)
    height = highest_at_ankle(piece, side)
    assert height <= asked - 1.0
    assert height > asked - 3.0
    other = SIDES[1 - SIDES.index(side)]
    assert highest_at_ankle(piece, other) == pytest.approx(
        highest_at_ankle(drafted(EU, FOOT), other), abs=0.3
    )


@pytest.mark.parametrize("below", [5.0, 3.0, 8.0])
def test_edge_stays_below_the_topline(drafted, below):
    settings = {"topline.back": 50.0}
    if below != 5.0:
        settings["stiffener.below_topline"] = below
    piece = drafted(EU, FOOT, **settings)
    # A level topline of 50 mm is lower than the rule's 55 mm.
    assert back_height(piece) == pytest.approx(50.0 - below, abs=0.1)
    _, _, along, heights = edge_profile(piece.surface("on-last"))
    assert heights.max() <= 50.0 - below + 0.1
    assert np.abs(heights[np.abs(along) < 3.0] - (50.0 - below)).max() < 0.1


def test_edge_follows_a_falling_topline(drafted):
    """Given by heights along the axis, straight between them; 5 mm below it everywhere."""
    heights = [(0, 62, 62), (50, 48, 44), (100, 40, 36), (200, 40, 36)]
    names = ("along", "medial", "lateral")
    given = json.dumps([dict(zip(names, row)) for row in heights])
    piece = drafted(EU, FOOT, **{"topline.heights": given})
    assert back_height(piece) == pytest.approx(BACK, abs=0.1)
    feather = FeatherLine(piece.surface("on-last").line("feather_line"))
    _, places, _, edge = edge_profile(piece.surface("on-last"))
    # The topline's height belongs to the place on the feather line below it.
    below = np.array([feather.at(feather.below(place))[0] for place in places])
    xs = [row[0] for row in heights]
    for k, side in enumerate(SIDES, start=1):
        line = np.interp(below, xs, [row[k] for row in heights])
        mine = on(piece, side, places)
        assert (line - edge)[mine].min() >= 5.0 - 0.1
        assert (line - edge)[mine].min() < 7.0


def test_placed_ankle_takes_its_ceiling_along(drafted, built_last):
    """An ankle placed in the scan 20 mm behind the default, on the wall of the inside."""
    plain = drafted(EU, FOOT)
    scan = trimesh.load(built_last(EU, FOOT), process=False)
    matrix, _, cost = trimesh.registration.procrustes(
        plain.last.vertices, scan.vertices, reflection=False, scale=False
    )
    assert cost < 1e-6
    asked = ANKLE["medial"] + 20.0
    wall = plain.last.vertices[on(plain, "medial", plain.last.vertices)]
    spot = wall[np.argmin(np.linalg.norm(wall[:, [0, 2]] - (asked, 50.0), axis=1))]
    in_scan = trimesh.transform_points([spot], matrix)[0]
    settings = {"marks.ankle_medial": json.dumps(list(in_scan)), "stiffener.medial.ceiling": 36.0}
    piece = drafted(EU, FOOT, **settings)
    _, places, _, heights = edge_profile(piece.surface("on-last"))
    near = on(piece, "medial", places) & (np.abs(places[:, 0] - spot[0]) <= 18.0)
    assert near.sum() > 20
    assert heights[near].max() <= 35.0
    behind = on(piece, "medial", places) & (np.abs(places[:, 0] - spot[0] + 34.0) <= 4.0)
    assert heights[behind].max() > 37.0


def test_own_back_height_and_settling(drafted):
    assert back_height(drafted(EU, FOOT, **{"stiffener.back_height": 47.0})) == pytest.approx(
        47.0, abs=0.1
    )
    assert back_height(drafted(EU, FOOT, **{"stiffener.settling": 0.0})) == pytest.approx(
        SLL / 5, abs=0.1
    )


@pytest.mark.parametrize("side", SIDES)
def test_own_ceiling_is_kept(drafted, side):
    piece = drafted(EU, FOOT, **{f"stiffener.{side}.ceiling": 33.0})
    _, places, _, heights = edge_profile(piece.surface("on-last"))
    near = on(piece, side, places) & (np.abs(places[:, 0] - ANKLE[side]) <= 18.0)
    assert heights[near].max() <= 32.0
    assert heights[near].max() > 30.0
