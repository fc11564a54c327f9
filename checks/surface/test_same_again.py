"""What is drawn stays where it is when the mesh is turned, mirrored, scaled or written otherwise."""

import igl
import numpy as np
import pytest
import trimesh
from drawn import any_points, resampled
from scipy.spatial import cKDTree


def turned(mesh, random):
    turn = trimesh.transformations.random_rotation_matrix(random.uniform(0, 1, 3))
    return mesh.copy().apply_transform(turn), np.arange(len(mesh.faces)), turn


def mirrored(mesh, _):
    # trimesh turns the triangles over, so that they face outward again, by reversing each.
    mirror = np.diag([1.0, -1, 1, 1])
    v, f = mesh.vertices * [1, -1, 1], mesh.faces[:, ::-1]
    return trimesh.Trimesh(v, f, process=False), np.arange(len(mesh.faces)), mirror


def scaled(mesh, _):
    scale = np.diag([2.5, 2.5, 2.5, 1])
    return trimesh.Trimesh(mesh.vertices * 2.5, mesh.faces, process=False), None, scale


def reordered(mesh, random):
    vertices, faces = random.permutation(len(mesh.vertices)), random.permutation(len(mesh.faces))
    number = np.argsort(vertices)
    other = trimesh.Trimesh(mesh.vertices[vertices], number[mesh.faces[faces]], process=False)
    return other, np.argsort(faces), np.eye(4)


@pytest.fixture(scope="module")
def band(bands):
    return bands["uneven band"]


def points_inside(mesh, random):
    """Points 12 mm or more from the edge, and how far places lie from it."""
    ring = cKDTree(mesh.vertices[igl.boundary_loop(np.asarray(mesh.faces))])
    points, _, places = any_points(mesh, 100, random)
    return [p for p, at in zip(points, places) if ring.query(at)[0] > 12], lambda p: ring.query(p)[0]


def in_order(draw, mesh, points, count):
    """Some of the points, from the first to the furthest from it."""
    order = np.argsort(draw(mesh, do="distances", sources=[points[0]], at=points))
    return [points[i] for i in order[np.linspace(0, len(order) - 1, count).astype(int)]]


@pytest.mark.parametrize("change", [turned, mirrored, scaled, reordered])
def test_lengths_and_lines_stay(band, draw, random, change):
    points, _, _ = any_points(band, 12, random)
    other, face_of, transform = change(band, random)
    scale = np.linalg.norm(transform[0, :3])

    def moved(point):
        face, weights = point[0], point[1:]
        if change is mirrored:
            weights = weights[::-1]
        return [int(face if face_of is None else face_of[face]), *weights]

    pairs = list(zip(points[::2], points[1::2]))
    there = [[moved(a), moved(b)] for a, b in pairs]
    before = np.array([w["length"] for w in draw(band, do="shortest", pairs=pairs)])
    after = np.array([w["length"] for w in draw(other, do="shortest", pairs=there)])
    np.testing.assert_allclose(after, before * scale, rtol=1e-11)

    # Steps along a curve are millimetres: at another scale they are others. A curve that runs into
    # the surface's edge, and along it, is only found to a millimetre.
    inner, away = points_inside(band, random)
    some = in_order(draw, band, points, 4)
    inside = in_order(draw, band, inner, 6)
    for through, within in ((some, 1.0), (inside, 0.01)):
        line = draw(band, do="curve", through=through)
        again = draw(other, do="curve", through=[moved(p) for p in through])
        expected = trimesh.transform_points(resampled(line["places"], 0.005), transform)
        apart = cKDTree(expected).query(resampled(again["places"], 0.5))[0] / scale
        near = away(line["places"]).min()
        print(f"{change.__name__}: curves {apart.max():.4f} mm apart, {near:.1f} from the edge")
        assert (near > 1.0) == (through is not some)
        assert apart.max() < within

    # A mirrored line has its left where its right was.
    flank = "right" if change is mirrored else "left"
    one = draw(band, do="parallel", through=inside, distance=4.0, flank="left")["lines"]
    two = draw(
        other,
        do="parallel",
        through=[moved(p) for p in inside],
        distance=4.0 * scale,
        flank=flank,
    )["lines"]
    assert len(one) == len(two)
    total = sum(part["length"] for part in one) * scale
    assert sum(part["length"] for part in two) == pytest.approx(total, abs=0.1 * scale)
