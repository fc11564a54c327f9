"""The same piece whatever the threads, the pose, the unit, the order or the side of the scan."""

import json

import numpy as np
import pytest
import shapely
import trimesh

from piece_drafted import length
from piece_heights import FeatherLine, between

SIZE, EU, FOOT = "EU 39", 39, "left"
# The same last from another scan file, mm: how far the cut outline may differ.
SAME_OUTLINE = 0.5
MIRRORED_OUTLINE = 0.3


@pytest.fixture(scope="module")
def job(built_last, new_job):
    return new_job(built_last(EU, FOOT), SIZE, FOOT)


@pytest.fixture(scope="module")
def piece(drafted):
    return drafted(EU, FOOT)


def files(folder):
    return {p.relative_to(folder): p.read_bytes() for p in folder.rglob("*") if p.is_file()}


def test_same_bytes_on_any_number_of_threads_and_again(job, draft_job):
    first = files(draft_job(job, "--threads", 1).folder)
    assert len(first) >= 12
    for words in (("--threads", 2), ("--threads", 1), ()):
        again = files(draft_job(job, *words).folder)
        assert sorted(again) == sorted(first)
        different = [str(name) for name in first if first[name] != again[name]]
        assert different == [], words


def back_height(piece):
    surface = piece.surface("on-last")
    seat, top = surface.line("centre_back")[[0, -1]]
    feather = FeatherLine(surface.line("feather_line"))
    return between(piece.last, seat, top, feather.direction(feather.below(seat)))[0]


def apart(a, b):
    """Hausdorff distance of two cut outlines, both with the seat at the origin."""
    a, b = (shapely.LinearRing(p.patterns["dxf"].outline.points).segmentize(0.5) for p in (a, b))
    return shapely.hausdorff_distance(a, b)


def posed(mesh, seed, scale):
    """The scan turned anyhow and moved, in another unit, triangles and vertices shuffled."""
    rng = np.random.default_rng(seed)
    turn = trimesh.transformations.random_rotation_matrix(rng.random(3))
    vertices = trimesh.transform_points(mesh.vertices, turn) + rng.uniform(-300, 300, 3)
    order = rng.permutation(len(vertices))
    place = np.argsort(order)
    faces = place[mesh.faces]
    faces = np.array([np.roll(face, k) for face, k in zip(faces, rng.integers(0, 3, len(faces)))])
    faces = faces[rng.permutation(len(faces))]
    return trimesh.Trimesh(vertices[order] * scale, faces, process=False)


SCANS = [("stl", 11, 0.1), ("ply", 12, 1.0), ("obj", 13, 0.1), ("obj", 14, 0.001)]


@pytest.fixture(scope="module", params=SCANS, ids=lambda s: "{}-{}-x{}".format(*s))
def other_scan(request, built_last, new_job, draft_job, tmp_path_factory):
    kind, seed, scale = request.param
    mesh = trimesh.load(built_last(EU, FOOT), process=False)
    path = tmp_path_factory.mktemp("posed") / f"scan.{kind}"
    posed(mesh, seed, scale).export(path)
    return draft_job(new_job(path, SIZE, FOOT))


def test_pose_unit_and_order_do_not_matter(piece, other_scan, record_property):
    assert back_height(other_scan) == pytest.approx(back_height(piece), abs=0.1)
    on, other = piece.surface("on-last"), other_scan.surface("on-last")
    assert other.wing_lengths() == pytest.approx(on.wing_lengths(), abs=0.5)
    for line in ("centre_back", "free_edge"):
        assert length(other.line(line)) == pytest.approx(length(on.line(line)), abs=0.5)
    outline = apart(piece, other_scan)
    record_property("outline_apart_mm", float(outline))
    assert outline <= SAME_OUTLINE


def test_mirrored_last_with_the_other_foot(piece, built_last, new_job, draft_job, tmp_path):
    mesh = trimesh.load(built_last(EU, FOOT), process=False)
    mirrored = trimesh.Trimesh(mesh.vertices * (1, -1, 1), mesh.faces[:, ::-1], process=False)
    path = tmp_path / "scan.obj"
    mirrored.export(path)
    other = draft_job(new_job(path, SIZE, "right"))
    assert other.foot == "right"
    assert back_height(other) == pytest.approx(back_height(piece), abs=0.1)
    assert other.surface("on-last").wing_lengths() == pytest.approx(
        piece.surface("on-last").wing_lengths()[::-1], abs=0.3
    )
    a = shapely.LinearRing(piece.patterns["dxf"].outline.points * (-1, 1)).segmentize(0.5)
    b = shapely.LinearRing(other.patterns["dxf"].outline.points).segmentize(0.5)
    assert shapely.hausdorff_distance(a, b) <= MIRRORED_OUTLINE


def test_foot_is_found_when_not_given(built_last, featherline, tmp_path):
    """And is the same whichever way the scan lies."""
    mesh = trimesh.load(built_last(EU, FOOT), process=False)
    path = tmp_path / "scan.stl"
    posed(mesh, 21, 1.0).export(path)
    done = featherline("new", tmp_path / "job", "--last", path, "--size", SIZE)
    assert done.returncode == 0, done.stderr
    done = featherline("check", tmp_path / "job", "--json")
    assert json.loads(done.stdout)["foot"] == FOOT
