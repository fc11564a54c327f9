"""Random patches of lasts and of a bare foot: disks of any outline, seeded."""

import numpy as np
import trimesh


def random_patch(mesh, random):
    """Triangles about a random place, within a random distance in a random stretched measure:
    (vertices, triangles), a disk of at least 60 triangles."""
    middles = mesh.triangles_center
    while True:
        centre = random.integers(len(middles))
        axes, _ = np.linalg.qr(random.normal(size=(3, 3)))
        stretched = (middles - middles[centre]) @ axes * random.uniform(0.5, 2.0, 3)
        # Lobes make the outline hollow in places.
        turn = np.arctan2(stretched[:, 1], stretched[:, 0])
        reach = random.uniform(12.0, 75.0)
        reach = reach * (1 + random.uniform(0, 0.35) * np.cos(random.integers(2, 6) * turn))
        near = np.flatnonzero(np.linalg.norm(stretched, axis=1) < reach)
        if len(near) < 60:
            continue
        patch = disk_about(mesh, near, centre)
        if patch is not None:
            return patch


def disk_about(mesh, faces, centre):
    """The part of `faces` that hangs together with face `centre`, if it is a disk."""
    inside = np.zeros(len(mesh.faces), bool)
    inside[faces] = True
    pairs = mesh.face_adjacency[inside[mesh.face_adjacency].all(1)]
    parts = trimesh.graph.connected_components(pairs, nodes=faces, min_len=60)
    own = next((part for part in parts if centre in part), None)
    if own is None:
        return None
    used, triangles = np.unique(mesh.faces[own], return_inverse=True)
    triangles = triangles.reshape(-1, 3)
    sides = np.sort(triangles[:, [0, 1, 1, 2, 2, 0]].reshape(-1, 2), 1)
    edges, uses = np.unique(sides, axis=0, return_counts=True)
    rim = edges[uses == 1]
    once = np.bincount(rim.ravel(), minlength=len(used)) <= 2
    if len(used) - len(edges) + len(triangles) != 1 or not once.all():
        return None
    return np.array(mesh.vertices[used]), triangles
