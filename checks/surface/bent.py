"""Open surfaces bent in known ways; z up is their outside. Invented, with no last's measures."""

import numpy as np
import trimesh


def swept(profile, along):
    """A profile (n x 2, running to +x with the outside on its left) drawn along y."""
    n, m = len(profile), len(along)
    x, z = np.repeat(profile, m, axis=0).T
    return gridded(np.column_stack([x, np.tile(along, n), z]), n, m)


def gridded(vertices, n, m):
    """Triangles between n rows of m vertices, the diagonals alternating."""
    i, j = np.meshgrid(np.arange(n - 1), np.arange(m - 1), indexing="ij")
    a, b = (i * m + j).ravel(), ((i + 1) * m + j).ravel()
    even = ((i + j) % 2 == 0).ravel()
    first = np.where(even[:, None], np.column_stack([a, b, b + 1]), np.column_stack([a, b, a + 1]))
    second = np.where(
        even[:, None], np.column_stack([a, b + 1, a + 1]), np.column_stack([b, b + 1, a + 1])
    )
    faces = np.concatenate([first, second])
    return trimesh.Trimesh(vertices, faces, process=False)


def bend(turn, radius, flank=15.0, step=0.8):
    """A profile of two straight flanks with a round between them that turns by `turn` degrees: a
    hollow when positive. Radius 0 is a sharp corner, which falls on a vertex."""
    half = np.radians(abs(turn)) / 2
    count = max(2, int(np.ceil(2 * half * radius / step)) + 1) if radius else 1
    straight = np.linspace(0, flank, int(np.ceil(flank / step)) + 1)
    angles = np.linspace(-half, half, count)
    round_ = np.column_stack([radius * np.sin(angles), -radius * np.cos(angles)])
    way = np.array([np.cos(half), np.sin(half)])
    right = round_[-1] + straight[1:, None] * way
    left = round_[0] + straight[1:, None] * way * [-1, 1]
    profile = np.concatenate([left[::-1], round_, right])
    return profile * [1, np.sign(turn)]


def hollow(turn=90, radius=2.0, length=30.0, step=0.8):
    """Two plane flanks and a round between them; see `bend`."""
    return swept(bend(turn, radius, step=step), np.linspace(0, length, int(length / step) + 1))


def slot(width=1.0, depth=6.0, length=20.0, step=0.6):
    """A plane with a slot narrower than what is laid over it."""
    h = width / 2
    corners = np.array([(-12, 0), (-h, 0), (-h, -depth), (h, -depth), (h, 0), (12, 0)], float)
    parts = []
    for p, q in zip(corners, corners[1:]):
        count = max(2, int(np.ceil(np.linalg.norm(q - p) / step)))
        parts.append(p + (q - p) * np.arange(count)[:, None] / count)
    return swept(np.concatenate([*parts, corners[-1:]]), np.linspace(0, length, int(length / step)))


def torus_saddle(hollow_radius=2.0, round_radius=12.0, step=0.6):
    """The inside of a ring's tube turned out: hollow one way, round the other."""
    a = np.radians(np.linspace(-80, 80, int(2.8 * hollow_radius / step) + 3))
    b = np.radians(np.linspace(-60, 60, int(2.1 * round_radius / step) + 3))
    u, v = np.meshgrid(a, b, indexing="ij")
    r = round_radius - hollow_radius * np.cos(u)
    # The hollow runs round the ring; its two lips rise on into flanks.
    points = np.stack([hollow_radius * np.sin(u), r * np.sin(v), r * np.cos(v)], axis=-1)
    return gridded(points.reshape(-1, 3), len(a), len(b))


def cylinder(radius=20.0, step=1.0):
    """Part of a cylinder, its outside round."""
    a = np.linspace(-1.2, 1.2, int(2.4 * radius / step))
    return swept(np.column_stack([radius * np.sin(a), radius * np.cos(a)]), np.arange(0, 30, step))


def cone(step=1.0):
    """Part of a cone, half its opening 20 degrees, without its tip."""
    a = np.linspace(-1.0, 1.0, int(40 / step))
    s = np.arange(15, 60, step)
    u, t = np.meshgrid(a, s, indexing="ij")
    r = t * np.sin(np.radians(20))
    points = np.stack([r * np.sin(u), t * np.cos(np.radians(20)), r * np.cos(u)], axis=-1)
    return gridded(points.reshape(-1, 3), len(a), len(s))


def cap(radius=20.0, step=1.0):
    """Part of a ball."""
    a = np.linspace(-0.8, 0.8, int(1.6 * radius / step))
    u, v = np.meshgrid(a, a, indexing="ij")
    points = np.stack([np.sin(u), np.sin(v) * np.cos(u), np.cos(v) * np.cos(u)], axis=-1)
    return gridded(radius * points.reshape(-1, 3), len(a), len(a))


def bumpy(seed=1, size=30.0, step=0.6, height=2.0, wave=6.0):
    """A plane with round bumps and hollows at random places."""
    rng = np.random.default_rng(seed)
    x = np.arange(0, size, step)
    u, v = np.meshgrid(x, x, indexing="ij")
    z = np.zeros_like(u)
    for _ in range(25):
        cx, cy = rng.uniform(0, size, 2)
        z += rng.uniform(-height, height) * np.exp(-((u - cx) ** 2 + (v - cy) ** 2) / (wave / 2) ** 2)
    points = np.stack([u, v, z], axis=-1)
    return gridded(points.reshape(-1, 3), len(x), len(x))


def rough(mesh, rms=0.1, seed=3):
    """The same with noise along z and across."""
    rng = np.random.default_rng(seed)
    return trimesh.Trimesh(
        mesh.vertices + rng.normal(0, rms, mesh.vertices.shape) * [0, 0, 1], mesh.faces, process=False
    )
