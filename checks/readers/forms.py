"""Invented meshes of the size of a last, with no last's measures."""

import numpy as np
import trimesh


def last_like(subdivisions=4):
    """A long, bent, bumpy closed body."""
    mesh = trimesh.creation.icosphere(subdivisions=subdivisions, radius=1.0)
    x, y, z = mesh.vertices.T
    mesh.vertices = np.column_stack(
        [130 * x + 130, 40 * y * (1 + 0.3 * x) + 6 * np.sin(2 * x), 35 * z + 18 * x**2]
    )
    return mesh


def open_topped(subdivisions=4):
    """The same without its top."""
    mesh = last_like(subdivisions)
    mesh.update_faces(mesh.triangles_center[:, 2] < 25)
    mesh.remove_unreferenced_vertices()
    assert not mesh.is_watertight and mesh.body_count == 1
    return mesh


def triangle_set(triangles):
    """Triangles (n x 3 x 3) in an order of their own, each from its least corner on: two such
    arrays are equal when the triangles are, whatever their order and first corners."""
    triangles = np.asarray(triangles, float) + 0.0
    turns = [np.roll(triangles, -k, axis=1).reshape(-1, 9) for k in range(3)]
    stacked = np.stack(turns, axis=1)
    first = [min(range(3), key=lambda k: tuple(row[k])) for row in stacked]
    least = stacked[np.arange(len(stacked)), first]
    return least[np.lexsort(least.T[::-1])]
