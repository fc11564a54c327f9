"""The heel of a bare foot as a patch to flatten, divided as finely as asked."""

import numpy as np


def heel_patch(foot, divided):
    """The wall round the heel, 10 to 55 mm up and 130 mm forward, divided `divided` times by
    Loop's rule: (vertices, triangles), a disk."""
    mesh = foot.copy()
    for _ in range(divided):
        mesh = mesh.subdivide_loop(1)
    low = mesh.bounds[0]
    middle = mesh.triangles_center - low
    behind = middle[:, 2] < 130.0
    within = (middle[:, 1] > 10.0) & (middle[:, 1] < 55.0) & behind
    parts = mesh.submesh([np.flatnonzero(within)], append=True).split(only_watertight=False)
    patch = max(parts, key=lambda part: part.area)
    vertices, triangles = np.array(patch.vertices), np.array(patch.faces)
    edges = len(np.unique(np.sort(patch.edges, 1), axis=0))
    if len(vertices) - edges + len(triangles) != 1:
        raise ValueError("the patch of the foot is no disk")
    return vertices, triangles
