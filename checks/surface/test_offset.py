"""Moved surfaces, measured by libigl: distances (point_mesh_squared_distance, signed_distance), and
crossings by the exact arithmetic of CGAL (igl.copyleft.cgal.remesh_self_intersections)."""

import json
import subprocess

import bent
import igl
import igl.copyleft.cgal
import numpy as np
import pytest
import trimesh

REACH = 5.0


@pytest.fixture(scope="session")
def program(example):
    return example("offset")


@pytest.fixture
def moved(program, tmp_path):
    """moved(mesh, distance) -> the mesh as read, the moved one, what the program said."""

    def run(mesh, distance):
        source, out = tmp_path / "from.obj", tmp_path / "to.obj"
        mesh.export(source, digits=12)
        words = [program, source, str(distance), str(REACH), out]
        done = subprocess.run(words, capture_output=True, text=True, timeout=60)
        assert done.returncode == 0, done.stderr
        load = {"process": False, "maintain_order": True}
        return trimesh.load(source, **load), trimesh.load(out, **load), json.loads(done.stdout)

    return run


def crossings(mesh):
    vertices, faces = np.asarray(mesh.vertices, float), np.asarray(mesh.faces)
    pairs = igl.copyleft.cgal.remesh_self_intersections(vertices, faces, detect_only=True)[2]
    return len(pairs)


def within(mesh, per_side=6):
    """A grid of places on each triangle."""
    n = per_side
    weights = np.array([(i, j, n - i - j) for i in range(n + 1) for j in range(n + 1 - i)]) / n
    return np.einsum("wk,fkd->fwd", weights, mesh.triangles).reshape(-1, 3)


def assert_moved(before, after, said, distance, above, below):
    """Vertices at their distance and on their side; no crossing. Within triangles the distance may
    be more by `above`, as where they bridge a hollow, and less by `below`, as where they cut
    across a round: these are bounds for triangles as large as the case has them."""
    np.testing.assert_array_equal(before.faces, after.faces)
    vertices, faces = np.asarray(before.vertices, float), np.asarray(before.faces)
    signed = igl.signed_distance(
        np.asarray(after.vertices, float), vertices, faces, igl.SIGNED_DISTANCE_TYPE_PSEUDONORMAL
    )[0]
    worst = np.abs(signed - distance).max()
    assert worst < 0.02
    assert said["error"] == pytest.approx(worst, abs=1e-6)
    inside = np.sqrt(igl.point_mesh_squared_distance(within(after), vertices, faces)[0])
    size = abs(distance)
    assert inside.min() > size - below
    assert inside.max() < size + above
    # And by another program's search, at fewer places.
    places = after.vertices[::37]
    _, other, _ = trimesh.proximity.closest_point(before, places)
    assert np.abs(other - abs(distance)).max() < 0.02
    assert crossings(after) == 0
    assert said["folded"] == 0 and after.area_faces.min() > 0


def test_the_search_for_crossings_finds_them():
    mesh = bent.hollow(120, 1)
    mesh.vertices += 2.5 * mesh.vertex_normals
    assert crossings(mesh) > 100


@pytest.mark.parametrize("distance", [2.5, -2.5])
@pytest.mark.parametrize("make", [bent.cylinder, bent.cone, bent.cap])
def test_round_forms(moved, make, distance):
    # Triangles of about a millimetre, radii of 5 to 20 mm.
    before, after, said = moved(make(), distance)
    assert_moved(before, after, said, distance, 0.03, 0.03)
    assert said["tight"] == []


@pytest.mark.parametrize("radius", [0, 1, 2, 2.6, 4])
@pytest.mark.parametrize("turn", [60, 90, 120])
def test_hollows(moved, turn, radius):
    before, after, said = moved(bent.hollow(turn, radius), 2.5)
    # Where no crease is, the moved hollow is as round as the facets of 0.8 mm let it be.
    assert_moved(before, after, said, 2.5, 0.06, 0.04)
    assert len(said["tight"]) == (radius < 2.5)
    if radius < 2.5:
        # The flanks meet in a crease; each had 15 mm and loses up to it.
        half = np.radians(turn) / 2
        lost = (2.5 - radius) * np.tan(half)
        assert after.area == pytest.approx(2 * (15 - lost) * 30, rel=2e-3)


@pytest.mark.parametrize("radius", [0, 2, 4])
def test_ridges(moved, radius):
    for distance in (2.5, -2.5):
        before, after, said = moved(bent.hollow(-90, radius), distance)
        assert_moved(before, after, said, distance, 0.08, 0.08)
        assert len(said["tight"]) == (distance < 0 and radius < 2.5)


@pytest.mark.parametrize("turn", [90, -90])
@pytest.mark.parametrize("radius", [2.6, 4])
def test_between_its_vertices_as_well(moved, turn, radius):
    """Where triangles are fine enough for the round, the whole surface is at its distance."""
    before, after, said = moved(bent.hollow(turn, radius, length=8, step=0.3), 2.5)
    assert_moved(before, after, said, 2.5, 0.02, 0.02)


@pytest.mark.parametrize("width", [1.0, 4.0])
def test_slots_are_bridged(moved, width):
    before, after, said = moved(bent.slot(width), 2.5)
    assert_moved(before, after, said, 2.5, 0.06, 0.06)
    assert len(said["tight"]) == 1


def test_a_saddle_tighter_one_way(moved):
    before, after, said = moved(bent.torus_saddle(), 2.5)
    assert_moved(before, after, said, 2.5, 0.06, 0.06)
    assert len(said["tight"]) == 1


@pytest.mark.parametrize("seed", range(12))
def test_bumps(moved, seed):
    for distance in (2.5, -1.5):
        before, after, said = moved(bent.bumpy(seed, height=1 + seed / 5), distance)
        assert_moved(before, after, said, distance, 0.2, 0.2)


@pytest.mark.parametrize("make", [bent.cylinder, lambda: bent.hollow(90, 4), bent.bumpy])
def test_noise(moved, make):
    """0.1 mm of noise: the moved surface is less rough than the one that it lies over."""
    smooth = make()
    before, after, said = moved(bent.rough(smooth, 0.1), 2.5)
    # Between the rounds over its peaks a triangle cuts deeper than over a smooth surface.
    assert_moved(before, after, said, 2.5, 0.4, 0.4)

    def bends(mesh):
        return np.sqrt((mesh.face_adjacency_angles**2).mean())

    assert bends(after) < 0.7 * bends(before)


@pytest.mark.parametrize("radius", [0, 4])
def test_the_back_of_a_built_last(moved, example, tmp_path, radius):
    """The wall at the back of a last, out and in; its feather edge of several radii among it."""
    last = tmp_path / "last.obj"
    words = ["sll=253.3", "foot=right", f"radius={radius}", "edge=2.5"]
    subprocess.run([example("build_last"), last, *words], check=True)
    mesh = trimesh.load(last, process=False, maintain_order=True)
    middles = mesh.triangles_center
    low, high = mesh.bounds
    back = (middles[:, 0] < low[0] + 80) & (middles[:, 2] < low[2] + 60)
    wall = mesh.submesh([np.flatnonzero(back)], append=True, repair=False)
    for distance in (2.5, -2.5):
        before, after, said = moved(wall, distance)
        # Triangles of 3 mm cut across the round that a sharp edge becomes.
        assert_moved(before, after, said, distance, 0.15, 0.15 if radius else 0.45)
