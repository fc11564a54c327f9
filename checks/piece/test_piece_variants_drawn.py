"""Every variant as it is drawn: its outline, marks, cuts, lengths and nicks in all formats."""

import pytest
import shapely

from piece_files import nearest
from piece_margin import decode, split_cuts, vees
from test_piece_files import (
    FORMATS,
    test_edge_can_be_cut_in_one_stroke as one_stroke,
    test_flat_surface_is_sound as flat_is_sound,
    test_formats_agree_on_the_area as areas_agree,
    test_lines_keep_their_lengths as lengths_kept,
    test_outline_is_simple_and_holds_every_mark as holds_every_mark,
    test_top_edge_does_not_gape as does_not_gape,
)

EU, FOOT = 39, "left"
VARIANTS = {
    "insole-on-last": {"stiffener.insole_on_last": "true"},
    "welted": {"stiffener.construction": "welted"},
    "strobel": {"stiffener.construction": "strobel"},
    "stitched-outward": {"stiffener.construction": "stitched_outward"},
    "fibreboard": {"stiffener.kind": "fibreboard"},
    "thermoplastic": {"stiffener.kind": "thermoplastic"},
    "short": {"stiffener.lateral.length": "short", "stiffener.medial.length": "short"},
    "long-inside-short-outside": {
        "stiffener.lateral.length": "short",
        "stiffener.medial.length": "long",
    },
    "mid-waist": {"stiffener.lateral.length": "mid_waist", "stiffener.medial.length": "mid_waist"},
    "wearer": {"wearer.ankle_medial": 36.0, "wearer.ankle_lateral": 31.0},
    "topline": {"topline.back": 50.0},
}


@pytest.fixture(scope="module", params=VARIANTS)
def piece(request, drafted):
    return drafted(EU, FOOT, **VARIANTS[request.param])


@pytest.mark.parametrize("name", FORMATS)
def test_outline_and_marks(piece, name):
    holds_every_mark(piece, name)


@pytest.mark.parametrize("name", FORMATS)
def test_lengths(piece, name):
    lengths_kept(piece, name)


@pytest.mark.parametrize("name", FORMATS)
def test_does_not_gape(piece, name):
    does_not_gape(piece, name)


def test_sound_and_smooth(piece):
    flat_is_sound(piece)
    areas_agree(piece)
    one_stroke(piece)


def test_nicks(piece):
    pattern = piece.patterns["dxf"]
    foot, inside, face = decode(pattern.outline.points, [cut.points for cut in pattern.cuts])
    assert (foot, inside, face) == (FOOT, "right", "outer")


def test_cuts_keep_clear(piece):
    pattern = piece.patterns["dxf"]
    notches = vees(pattern.outline.points)
    nicks, slits = split_cuts(pattern.outline.points, [cut.points for cut in pattern.cuts])
    insole = piece.dimension("insole edge below the feather line")
    for point in [vee.point for vee in notches] + [cut[1] for cut in nicks + slits]:
        assert nearest(pattern.feather.points, point) - insole >= 2.0 - 0.03, point
    for point in [vee.point for vee in notches] + [cut[1] for cut in slits]:
        assert abs(point[0]) > 2.0, "a cut at the centre back"
    triangles = [shapely.Polygon([*vee.mouth, vee.point]) for vee in notches]
    lines = [shapely.LineString(cut) for cut in nicks + slits]
    cuts = triangles + lines
    for i, a in enumerate(cuts):
        for b in cuts[i + 1 :]:
            assert a.distance(b) > 1.5, (a, b)


def test_the_program_finds_no_fault_of_its_own(piece):
    failed = [c for c in piece.report["checks"] if c["verdict"] == "fail"]
    assert failed == []
