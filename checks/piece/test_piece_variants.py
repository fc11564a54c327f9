"""Every choice of a job drafts, and its own rule is seen to hold by measuring the piece again."""

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
    """Distance of the outer edge from the feather mark, its usual value round the seat and sides."""
    pattern = piece.patterns["dxf"]
    feather, outline = pattern.feather.points, pattern.outline.points
    widths = []
    for at in np.flatnonzero(np.abs(feather[:, 0]) < 80.0)[::40]:
        below = outline[outline[:, 1] < feather[at, 1] - 1.0]
        widths.append(np.linalg.norm(below - feather[at], axis=1).min())
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
    assert len(piece.patterns["dxf"].marks) == len(plain.patterns["dxf"].marks) - 1


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
    _, places, along, heights = edge_profile(piece.surface("on-last"))
    run = on(piece, "lateral", places)
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
