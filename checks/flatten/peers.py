"""Layouts by libigl 2.6.3, the reference library: LSCM, and from it ARAP and SLIM."""

import igl
import numpy as np

import energy


def lscm(vertices, triangles):
    """Least-squares conformal map, two far boundary vertices pinned, at the best scale."""
    rim = igl.boundary_loop(triangles.astype(np.int64))
    far = lambda v: rim[np.argmax(np.linalg.norm(vertices[rim] - vertices[v], axis=1))]
    a = far(rim[0])
    b = far(a)
    apart = np.linalg.norm(vertices[a] - vertices[b])
    flat, _ = igl.lscm(
        vertices, triangles.astype(np.int64), np.array([a, b]), np.array([[0.0, 0], [apart, 0]])
    )
    rest, area = energy.rest_frames(vertices, triangles)
    s2 = np.linalg.svd(energy.jacobians(rest, triangles, flat), compute_uv=False) ** 2
    return flat * ((area[:, None] / s2).sum() / (area[:, None] * s2).sum()) ** 0.25


def arap(vertices, triangles, start):
    """As rigid as possible, 10 iterations; one vertex pinned, as it leaves the place open."""
    data = igl.ARAPData()
    data.max_iter = 10
    pinned = np.array([0], dtype=np.int32)
    igl.arap_precomputation(vertices, triangles.astype(np.int64), 2, pinned, data)
    return igl.arap_solve(start[:1].copy(), data, start)


def slim(vertices, triangles, start):
    """Scalable locally injective map on the symmetric Dirichlet energy, 80 iterations."""
    fortran = lambda a, kind: np.asfortranarray(a, dtype=kind)
    data = igl.slim_precompute(
        fortran(vertices, float),
        fortran(triangles, np.int32),
        fortran(start, float),
        igl.MappingEnergyType.SYMMETRIC_DIRICHLET,
        np.zeros(0, dtype=np.int32),
        np.zeros((0, 2), order="F"),
        0.0,
    )
    return igl.slim_solve(data, 80)[:, :2]
