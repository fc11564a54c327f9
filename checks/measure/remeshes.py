"""Other triangles on the same surface, by general-purpose libraries: igl and trimesh."""

import igl
import numpy as np
import trimesh


def divided(vertices, faces):
    """Every triangle in four."""
    return igl.upsample(vertices, faces)


def thinned(vertices, faces):
    """Half the triangles (Garland and Heckbert's quadrics)."""
    done = igl.qslim(vertices, faces, len(faces) // 2)
    arrays = [a for a in done if isinstance(a, np.ndarray) and a.ndim == 2]
    return arrays[0], arrays[1]


def evened(vertices, faces):
    """Long edges divided until none is longer than 1.2 mm."""
    vertices, faces = trimesh.remesh.subdivide_to_size(vertices, faces, 1.2)
    mesh = trimesh.Trimesh(vertices, faces, process=True)
    return np.array(mesh.vertices), np.array(mesh.faces)


def moved(vertices, faces):
    """Every vertex elsewhere on the surface but those on creases, without which it would be another
    surface: nowhere further than 0.02 mm from the first."""
    rng = np.random.default_rng(3)
    mesh = trimesh.Trimesh(vertices, faces, process=False)
    creases = mesh.face_adjacency_edges[mesh.face_adjacency_angles > np.radians(5)]
    free = np.ones(len(vertices), bool)
    free[creases.ravel()] = False
    away = rng.normal(0, 0.15 * mesh.edges_unique_length.mean(), vertices.shape)
    normals = mesh.vertex_normals
    away -= normals * (away * normals).sum(axis=1)[:, None]
    nearest = igl.point_mesh_squared_distance(vertices + away, vertices, faces)[2]
    return np.where(free[:, None], nearest, vertices), faces


ALL = {f.__name__: f for f in (divided, thinned, evened, moved)}
