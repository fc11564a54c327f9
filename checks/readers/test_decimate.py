"""Reduced meshes, measured by libigl and trimesh against their originals."""

import igl
import numpy as np
import pytest
import trimesh
from forms import last_like, open_topped


def far(points, mesh):
    """The largest distance of points from a mesh."""
    squared = igl.point_mesh_squared_distance(
        np.ascontiguousarray(points, float), np.asarray(mesh.vertices, float), np.asarray(mesh.faces)
    )[0]
    return np.sqrt(squared.max())


def spread(mesh, per_face):
    """Places on each triangle: a grid of barycentric weights without the corners."""
    n = per_face
    weights = np.array([(i, j, n - i - j) for i in range(n + 1) for j in range(n + 1 - i)]) / n
    return np.einsum("wk,fkd->fwd", weights, mesh.triangles).reshape(-1, 3)


@pytest.fixture
def reduced(decimate, tmp_path):
    def run(mesh, tolerance):
        source, out = tmp_path / "from.ply", tmp_path / "to.ply"
        mesh.export(source)
        # The f32 of the file is what is reduced.
        before = trimesh.load(source, process=False)
        said = decimate(source, tolerance, out)
        after = trimesh.load(out, process=False)
        assert (said["before"], said["after"]) == (len(before.faces), len(after.faces))
        return before, after, said

    return run


@pytest.mark.parametrize("tolerance", [0.02, 0.05, 0.2])
@pytest.mark.parametrize("make", [last_like, open_topped])
def test_the_stated_error_is_that_of_libigl(reduced, make, tolerance):
    before, after, said = reduced(make(6), tolerance)
    there, back = far(before.vertices, after), far(after.vertices, before)
    inside = far(spread(after, 11), before)
    assert there <= said["error"] + 1e-9 and back <= said["error"] + 1e-9
    # Between the places where it is measured, the surface may be a little further off.
    assert inside <= 1.1 * said["error"]
    assert said["error"] <= tolerance
    assert len(after.faces) < len(before.faces) / 3
    assert after.is_winding_consistent
    assert after.euler_number == before.euler_number
    if before.is_watertight:
        assert after.is_watertight
        assert after.volume == pytest.approx(before.volume, abs=tolerance * before.area)
    assert after.face_angles.min() > np.radians(0.5)


def rim(mesh):
    edges = mesh.edges[trimesh.grouping.group_rows(mesh.edges_sorted, require_count=1)]
    return mesh.vertices[edges]


def test_the_rim_stays(reduced):
    before, after, said = reduced(open_topped(6), 0.05)
    for one, other in [(before, after), (after, before)]:
        starts, ends = rim(other)[:, 0], rim(other)[:, 1]
        for p in rim(one)[:, 0]:
            along = ends - starts
            t = np.einsum("ij,ij->i", p - starts, along) / np.einsum("ij,ij->i", along, along)
            nearest = starts + np.clip(t, 0, 1)[:, None] * along
            assert np.linalg.norm(nearest - p, axis=1).min() <= 0.05


def test_a_box_becomes_its_twelve_triangles(reduced):
    mesh = trimesh.creation.box((100, 60, 40))
    for _ in range(5):
        mesh = mesh.subdivide()
    _, after, said = reduced(mesh, 0.05)
    assert len(after.faces) == 12 and said["error"] < 1e-9
    np.testing.assert_allclose(np.abs(after.vertices), np.tile([50, 30, 20], (8, 1)), atol=1e-9)


def test_noise_above_the_tolerance_keeps_nearly_all(reduced):
    mesh = last_like(6)
    mesh.vertices += np.random.default_rng(1).normal(0, 0.1, mesh.vertices.shape)
    before, after, _ = reduced(mesh, 0.02)
    assert len(after.faces) > 0.9 * len(before.faces)


def test_a_million_triangles(reduced):
    before, after, said = reduced(last_like(8), 0.05)
    assert said["before"] == 1310720 and said["after"] < 20000
    assert far(before.vertices[::50], after) <= said["error"] + 1e-9
