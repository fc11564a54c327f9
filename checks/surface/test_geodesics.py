"""Paths and distances on surfaces, measured by pygeodesic, libigl and potpourri3d.

pygeodesic and libigl: the exact algorithm of Mitchell, Mount and Papadimitriou (1987), as
implemented by D. Kirsanov; potpourri3d: edge flips (N. Sharp and K. Crane 2020).
"""

import igl
import numpy as np
import potpourri3d
import pygeodesic.geodesic as geodesic
import pytest
from drawn import Inserted, any_points

# Asked for: 0.05 mm. Both are exact but for rounding.
EXACT = 1e-8


def off_surface(mesh, places):
    vertices = np.asarray(mesh.vertices, float)
    found = igl.point_mesh_squared_distance(np.asarray(places), vertices, np.asarray(mesh.faces))
    return np.sqrt(found[0].max())


def test_distances_of_all_vertices(surface, draw, random):
    name, mesh = surface
    everywhere = [[v] for v in range(len(mesh.vertices))]
    exact = geodesic.PyGeodesicAlgorithmExact(mesh.vertices, mesh.faces)
    for source in random.integers(0, len(mesh.vertices), 1):
        found = np.array(draw(mesh, do="distances", sources=[[int(source)]], at=everywhere), float)
        expected, _ = exact.geodesicDistances(np.array([source]), None)
        print(f"{name}: {np.abs(found - expected).max():.1e} mm over {len(found)} vertices")
        np.testing.assert_allclose(found, expected, atol=EXACT)


def test_shortest_paths_between_any_points(surface, draw, random):
    name, mesh = surface
    points, faces, places = any_points(mesh, 2 + 12, random)
    split = Inserted(mesh.vertices, mesh.faces)
    numbers = [split.put(int(f), p) for f, p in zip(faces, places)]
    exact = geodesic.PyGeodesicAlgorithmExact(*split.arrays())
    # From the first two to all the others.
    ends = [(a, b) for a in range(2) for b in range(2, len(points))]
    targets = np.array(numbers[2:])
    expected = [exact.geodesicDistances(np.array([n]), targets)[0] for n in numbers[:2]]
    expected = np.concatenate(expected)
    pairs = [(points[a], points[b]) for a, b in ends]
    found = draw(mesh, do="shortest", pairs=pairs)
    lengths = np.array([way["length"] for way in found])
    error = np.abs(lengths - expected)
    local = np.array([way["length"] for way in draw(mesh, do="local", pairs=pairs)])
    longer = local - lengths
    print(
        f"{name}: worst {error.max():.1e}, mean {error.mean():.1e} mm of {np.mean(lengths):.0f}; "
        f"taut along edges only: {longer.max():.3f} longer, {(longer > 0.05).sum()} of {len(local)}"
    )
    assert error.max() < EXACT
    assert longer.min() > -EXACT
    for way, (a, b) in zip(found, ends):
        a, b = places[a], places[b]
        line = np.array(way["places"])
        assert np.linalg.norm(np.diff(line, axis=0), axis=1).sum() == pytest.approx(way["length"])
        assert np.linalg.norm(line[0] - a) < 1e-9 and np.linalg.norm(line[-1] - b) < 1e-9
        # Each piece lies in a triangle.
        assert off_surface(mesh, np.vstack([line, (line[1:] + line[:-1]) / 2])) < 1e-9


def test_libigl_agrees(bands, draw, random):
    mesh = bands["band"]
    vertices, faces = np.asarray(mesh.vertices, float), np.asarray(mesh.faces)
    source = int(random.integers(len(vertices)))
    none, targets = np.zeros(0, int), np.arange(0, len(vertices), 7)
    expected = igl.exact_geodesic(vertices, faces, np.array([source]), none, targets, none)
    at = [[int(v)] for v in targets]
    found = np.array(draw(mesh, do="distances", sources=[[source]], at=at), float)
    np.testing.assert_allclose(found, expected, atol=EXACT)


def test_edge_flips_find_nothing_shorter(surface, draw, random):
    name, mesh = surface
    solver = potpourri3d.EdgeFlipGeodesicSolver(np.asarray(mesh.vertices), np.asarray(mesh.faces))
    pairs = random.integers(0, len(mesh.vertices), (40, 2))
    pairs = [(int(a), int(b)) for a, b in pairs if a != b]
    flipped = []
    for a, b in pairs:
        line = solver.find_geodesic_path(v_start=a, v_end=b)
        flipped.append(np.linalg.norm(np.diff(line, axis=0), axis=1).sum())
    asked = [[[a], [b]] for a, b in pairs]
    shortest = np.array([way["length"] for way in draw(mesh, do="shortest", pairs=asked)])
    taut = np.array([way["length"] for way in draw(mesh, do="local", pairs=asked)])
    same = np.abs(taut - flipped) < 1e-5
    print(f"{name}: flips as long as taut paths {same.sum()} of {len(pairs)} times")
    assert (np.array(flipped) > shortest - 1e-5).all()
    # From the same start along the edges both mostly end at the same path.
    assert same.mean() > 0.7


def test_nearest_points(surface, draw, random):
    _, mesh = surface
    low, high = mesh.bounds
    places = random.uniform(low - 20, high + 20, (500, 3))
    vertices, faces = np.asarray(mesh.vertices, float), np.asarray(mesh.faces)
    squared = igl.point_mesh_squared_distance(places, vertices, faces)[0]
    found = draw(mesh, do="closest", places=places.tolist())
    distances = np.array([f["distance"] for f in found])
    np.testing.assert_allclose(distances, np.sqrt(squared), atol=1e-10)
    assert off_surface(mesh, [f["place"] for f in found]) < 1e-9
