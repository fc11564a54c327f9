"""Disk-shaped test surfaces by our own equations, mm: (vertices, triangles) as numpy arrays.

All are invented. Triangles run counter-clockwise seen from outside. What is random is seeded.
"""

import numpy as np
from scipy.spatial import Delaunay


def grid(columns, rows, alternate=True):
    """Triangles of a grid of points, row by row; the diagonals alternate or all run one way."""
    index = np.arange(columns * rows).reshape(rows, columns)
    a, b = index[:-1, :-1].ravel(), index[:-1, 1:].ravel()
    c, d = index[1:, 1:].ravel(), index[1:, :-1].ravel()
    odd = np.add.outer(np.arange(rows - 1), np.arange(columns - 1)).ravel() % 2 == 1
    odd &= alternate
    first = np.where(odd[:, None], np.stack([a, b, d], 1), np.stack([a, b, c], 1))
    second = np.where(odd[:, None], np.stack([b, c, d], 1), np.stack([a, c, d], 1))
    return np.concatenate([first, second])


def scattered(width, height, spacing, seed):
    """An irregular triangulation of a rectangle: shaken points, Delaunay triangles."""
    outline = np.array([[0, 0], [width, 0], [width, height], [0, height]], float)
    return fill(outline, spacing, seed)


def fill(corners, spacing, seed):
    """An irregular triangulation of the inside of a polygon without narrow places."""
    random = np.random.default_rng(seed)
    edge = []
    for a, b in zip(corners, np.roll(corners, -1, 0)):
        steps = max(1, round(np.linalg.norm(b - a) / spacing))
        edge += [a + (b - a) * t for t in np.arange(steps) / steps]
    edge = np.array(edge)
    low, high = corners.min(0), corners.max(0)
    x, y = np.meshgrid(
        np.arange(low[0], high[0], spacing), np.arange(low[1], high[1], spacing * 0.8660254)
    )
    x[1::2] += spacing / 2
    points = np.stack([x.ravel(), y.ravel()], 1)
    points += random.uniform(-0.3, 0.3, points.shape) * spacing
    inside, distance = inside_and_distance(points, corners)
    points = np.concatenate([edge, points[inside & (distance > 0.6 * spacing)]])
    triangles = Delaunay(points).simplices
    u, v = (points[triangles[:, k]] - points[triangles[:, 0]] for k in (1, 2))
    turned = u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0] < 0
    triangles[turned] = triangles[turned][:, ::-1]
    middle = points[triangles].mean(1)
    inside, distance = inside_and_distance(middle, corners)
    triangles = triangles[inside & (distance > 1e-3 * spacing)]
    used = np.unique(triangles)
    renumber = np.full(len(points), -1)
    renumber[used] = np.arange(len(used))
    return points[used], renumber[triangles]


def inside_and_distance(points, corners):
    """Whether points lie in a polygon, and how far from its sides."""
    inside = np.zeros(len(points), bool)
    distance = np.full(len(points), np.inf)
    for a, b in zip(corners, np.roll(corners, -1, 0)):
        along = b - a
        t = np.clip((points - a) @ along / (along @ along), 0, 1)
        distance = np.minimum(distance, np.linalg.norm(points - a - t[:, None] * along, axis=1))
        crosses = (a[1] > points[:, 1]) != (b[1] > points[:, 1])
        with np.errstate(divide="ignore", invalid="ignore"):
            inside ^= crosses & (
                points[:, 0] < along[0] * (points[:, 1] - a[1]) / along[1] + a[0]
            )
    return inside, distance


def cylinder(spacing=1.0, seed=None, radius=40.0, arc=210.0, height=60.0):
    """Part of a cylinder about z, seen from outside; it wraps `arc` mm of 251 around."""
    if seed is None:
        columns, rows = round(arc / spacing) + 1, round(height / spacing) + 1
        u, v = np.meshgrid(np.linspace(0, arc, columns), np.linspace(0, height, rows))
        flat, triangles = np.stack([u.ravel(), v.ravel()], 1), grid(columns, rows)
    else:
        flat, triangles = scattered(arc, height, spacing, seed)
    angle = flat[:, 0] / radius
    return np.stack([radius * np.cos(angle), radius * np.sin(angle), flat[:, 1]], 1), triangles


def cone(spacing=1.0, seed=None, half_angle=25.0, near=40.0, far=110.0, turn=200.0):
    """Part of a cone about z, from `near` to `far` mm off its tip, `turn` degrees around."""
    slope, turn = np.radians(half_angle), np.radians(turn)
    width = turn * np.sin(slope)  # the angle it takes when rolled out
    if seed is None:
        columns = round(width * far / spacing) + 1
        rows = round((far - near) / spacing) + 1
        a, r = np.meshgrid(np.linspace(0, width, columns), np.linspace(near, far, rows))
        a, r, triangles = a.ravel(), r.ravel(), grid(columns, rows)[:, ::-1]
    else:
        arc = width * np.linspace(0, 1, 40)
        ring = np.stack([np.cos(arc), np.sin(arc)], 1)
        flat, triangles = fill(np.concatenate([far * ring, near * ring[::-1]]), spacing, seed)
        a, r = np.arctan2(flat[:, 1], flat[:, 0]), np.linalg.norm(flat, axis=1)
        triangles = triangles[:, ::-1]
    around = a / np.sin(slope)
    side = r * np.sin(slope)
    return np.stack([side * np.cos(around), side * np.sin(around), r * np.cos(slope)], 1), triangles


def cap(spacing=1.5, seed=3, radius=40.0, opening=55.0):
    """A spherical cap, `opening` degrees from its top to its edge."""
    edge = np.radians(opening) * radius
    circle = np.linspace(0, 2 * np.pi, 120, endpoint=False)
    outline = edge * np.stack([np.cos(circle), np.sin(circle)], 1)
    flat, triangles = fill(outline, spacing, seed)
    distance = np.linalg.norm(flat, axis=1)
    angle = distance / radius
    out = radius * np.sin(angle) / np.maximum(distance, 1e-12)
    return np.column_stack([flat * out[:, None], radius * np.cos(angle)]), triangles


def saddle(spacing=2.0, seed=5, size=80.0, bend=60.0):
    """A saddle, z = (x² - y²) / (2 bend), over a square."""
    flat, triangles = scattered(size, size, spacing, seed)
    flat = flat - size / 2
    return np.column_stack([flat, (flat[:, 0] ** 2 - flat[:, 1] ** 2) / (2 * bend)]), triangles


def heel_band(spacing=1.8, seed=None, bulge=2.5, at=0.0):
    """A wall about a heel: 300 mm from the inside wing round the back to the outside wing, 50 mm
    high at the back and 40 at the ends, about 32 mm round, widest 25 mm up. It bulges by 1.5 mm,
    and `at` mm beside the back by `bulge` mm more: at the back itself, 4.0 strain as much as
    a strongly rounded heel.

    Returns also the grid's columns and rows, (vertices, triangles, (columns, rows)), or None for
    these when it is irregular.
    """
    length, high = 300.0, 50.0
    if seed is None:
        columns, rows = round(length / spacing) + 1, round(high / spacing) + 1
        s, t = np.meshgrid(np.linspace(0, length, columns), np.linspace(0, 1, rows))
        s, t, triangles, shape = s.ravel(), t.ravel(), grid(columns, rows), (columns, rows)
    else:
        flat, triangles = scattered(length, high, spacing, seed)
        s, t, shape = flat[:, 0], flat[:, 1] / high, None
    s = s - length / 2
    # The plan: curvature 1/32 about the back, fading out over some 10 mm, then straight wings.
    fine = np.linspace(-length / 2, length / 2, 6001)
    curvature = 1 / 32 / (1 + np.exp((np.abs(fine) - 46) / 5))
    step = fine[1] - fine[0]
    heading = np.concatenate([[0], np.cumsum((curvature[1:] + curvature[:-1]) / 2 * step)])
    heading += -np.pi / 2 - heading[3000]
    plan = np.zeros((len(fine), 2))
    for k, f in enumerate((np.cos, np.sin)):
        g = f(heading)
        plan[1:, k] = np.cumsum((g[1:] + g[:-1]) / 2 * step)
    plan -= plan[3000]
    x, y, h = (np.interp(s, fine, c) for c in (plan[:, 0], plan[:, 1], heading))
    # The wall: it bulges out to 25 mm up and comes in above, most at the back.
    z = t * (40 + 10 * np.cos(np.pi * s / length) ** 2)
    out = (1.5 + bulge * np.exp(-(((s - at) / 60) ** 2))) * (1 - ((z - 25) / 25) ** 2)
    return (
        np.column_stack([x + out * np.sin(h), y - out * np.cos(h), z]),
        triangles,
        shape,
    )


def random_patch(seed):
    """A smooth bumpy surface over a random outline."""
    random = np.random.default_rng(1000 + seed)
    circle = np.linspace(0, 2 * np.pi, 90, endpoint=False)
    size = random.uniform(25, 60)
    wave = sum(
        random.uniform(-0.16, 0.16) * np.cos(k * circle + random.uniform(0, 2 * np.pi))
        for k in range(1, 5)
    )
    stretch = random.uniform(0.7, 1.4)
    outline = size * (1 + wave)[:, None] * np.stack([np.cos(circle), stretch * np.sin(circle)], 1)
    flat, triangles = fill(outline, size * random.uniform(0.04, 0.07), seed)
    z = np.zeros(len(flat))
    for _ in range(random.integers(1, 6)):
        middle = random.uniform(-0.8, 0.8, 2) * size
        wide = random.uniform(0.35, 0.9) * size
        tall = random.uniform(-0.5, 0.5) * wide
        z += tall * np.exp(-(((flat - middle) / wide) ** 2).sum(1))
    tilt = random.uniform(-1, 1, 2) / size
    z += 0.15 * size * np.sin(flat @ tilt * 2)
    return np.column_stack([flat, z]), triangles
