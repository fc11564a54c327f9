"""Energy, strain and a Newton polish of flat layouts, written apart from the program.

The program works with the conformal and anti-conformal parts of each triangle's map; here the
Jacobian is taken apart by numpy's SVD, and the derivatives come from the closed form
s1² + s2² + 1/s1² + 1/s2² = |J|² (1 + 1/det(J)²).
"""

import numpy as np
from scipy.sparse import coo_matrix, identity
from scipy.sparse.linalg import spsolve


def rest_frames(vertices, triangles):
    """Per triangle, the inverse of its two sides in a frame of its own, and its area."""
    a, b, c = (vertices[triangles[:, k]] for k in range(3))
    u, v = b - a, c - a
    e1 = u / np.linalg.norm(u, axis=1)[:, None]
    normal = np.cross(u, v)
    area = np.linalg.norm(normal, axis=1) / 2
    e2 = np.cross(normal / (2 * area)[:, None], e1)
    dot = lambda p, q: np.einsum("ij,ij->i", p, q)
    sides = np.empty((len(triangles), 2, 2))
    sides[:, 0, 0], sides[:, 0, 1] = dot(u, e1), dot(v, e1)
    sides[:, 1, 0], sides[:, 1, 1] = dot(u, e2), dot(v, e2)
    return np.linalg.inv(sides), area


def jacobians(rest, triangles, flat):
    a, b, c = (flat[triangles[:, k]] for k in range(3))
    return np.stack([b - a, c - a], 2) @ rest


def signed_areas(flat, triangles):
    a, b, c = (flat[triangles[:, k]] for k in range(3))
    u, v = b - a, c - a
    return (u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0]) / 2


def energy(vertices, triangles, flat):
    """Area-weighted symmetric Dirichlet energy less 4; infinite when a triangle is flipped."""
    rest, area = rest_frames(vertices, triangles)
    j = jacobians(rest, triangles, flat)
    if np.linalg.det(j).min() <= 0:
        return np.inf
    s = np.linalg.svd(j, compute_uv=False)
    return float((area[:, None] * ((s - 1) * (s + 1) / s) ** 2).sum() / area.sum())


def strain(vertices, triangles, flat):
    """Mean, p95 and p99 strain in percent."""
    rest, area = rest_frames(vertices, triangles)
    off = np.abs(np.linalg.svd(jacobians(rest, triangles, flat), compute_uv=False) - 1)
    worst = off.max(1)
    order = np.argsort(worst)
    below = np.cumsum(area[order]) / area.sum()
    at = lambda part: worst[order][np.searchsorted(below, part)]
    mean = (area * off.mean(1)).sum() / area.sum()
    return 100 * mean, 100 * at(0.95), 100 * at(0.99)


def gradient_and_hessian(vertices, triangles, flat):
    """Of `energy`, over (x0, y0, x1, y1, ...)."""
    rest, area = rest_frames(vertices, triangles)
    j = jacobians(rest, triangles, flat)
    count = len(triangles)
    # vec(J) = (J00, J01, J10, J11), linear in the six coordinates of the corners.
    hats = np.concatenate([-rest.sum(1)[:, None, :], rest], 1)
    linear = np.zeros((count, 4, 6))
    for corner in range(3):
        for side in range(2):
            linear[:, side, 2 * corner] = hats[:, corner, side]
            linear[:, 2 + side, 2 * corner + 1] = hats[:, corner, side]
    a, b, c, d = (j[:, k // 2, k % 2] for k in range(4))
    square, det = a * a + b * b + c * c + d * d, a * d - b * c
    d_square = 2 * np.stack([a, b, c, d], 1)
    d_det = np.stack([d, -c, -b, a], 1)
    dd_det = np.zeros((4, 4))
    dd_det[0, 3] = dd_det[3, 0] = 1
    dd_det[1, 2] = dd_det[2, 1] = -1
    one = (1 + det**-2)[:, None]
    slope = one * d_square - (2 * square * det**-3)[:, None] * d_det
    cross = np.einsum("ti,tj->tij", d_square, d_det)
    bend = (
        one[:, :, None] * (2 * np.eye(4))
        - (2 * det**-3)[:, None, None] * (cross + cross.transpose(0, 2, 1))
        + (6 * square * det**-4)[:, None, None] * np.einsum("ti,tj->tij", d_det, d_det)
        - (2 * square * det**-3)[:, None, None] * dd_det
    )
    weight = area / area.sum()
    local_gradient = np.einsum("t,tki,tk->ti", weight, linear, slope)
    local_hessian = np.einsum("t,tki,tkl,tlj->tij", weight, linear, bend, linear, optimize=True)
    index = (2 * triangles[:, :, None] + np.arange(2)).reshape(count, 6)
    n = 2 * len(flat)
    gradient = np.bincount(index.ravel(), local_gradient.ravel(), n)
    rows, columns = np.repeat(index, 6, 1).ravel(), np.tile(index, (1, 6)).ravel()
    return gradient, coo_matrix((local_hessian.ravel(), (rows, columns)), (n, n)).tocsc()


def polish(vertices, triangles, flat, steps=5):
    """The least energy that Newton's method with the full Hessian finds from `flat`."""
    far = int(np.argmax(np.linalg.norm(flat - flat[0], axis=1)))
    # Turning moves vertex `far` mostly along one axis; holding that one takes the turn out.
    along = np.abs(flat[far] - flat[0])
    fixed = [0, 1, 2 * far + (1 if along[0] > along[1] else 0)]
    free = np.setdiff1d(np.arange(2 * len(flat)), fixed)
    best = energy(vertices, triangles, flat)
    for _ in range(steps):
        gradient, hessian = gradient_and_hessian(vertices, triangles, flat)
        inner = hessian[free][:, free]
        step = np.zeros(2 * len(flat))
        step[free] = spsolve(inner, -gradient[free])
        shift = 1e-8 * abs(inner.diagonal()).max()
        while gradient @ step > 0:
            step[free] = spsolve(inner + shift * identity(len(free)), -gradient[free])
            shift *= 10
        length = 1.0
        while length > 1e-6:
            moved = flat + length * step.reshape(-1, 2)
            value = energy(vertices, triangles, moved)
            if value < best:
                flat, best = moved, value
                break
            length /= 2
        else:
            break
    return best
