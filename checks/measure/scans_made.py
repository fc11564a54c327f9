"""Scans of invented lasts: every kind of last, as a scanner might deliver it."""

import numpy as np
import trimesh

# One unit of the file in mm.
UNITS = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": 25.4}


def measures(number):
    """What the last with this number is asked to be: words for the builder of lasts."""
    rng = np.random.default_rng(9000 + number)
    eu = int(rng.integers(20, 49))
    length = eu * 20 / 3
    share = length / 270
    child = eu < 35
    highest = 80 if eu >= 36 else 12 + 2.2 * (eu - 20)
    heel = rng.uniform(5, highest)
    # Seat, tread and girth about Golding's scale (1902) and the French rule, as the builder has them.
    seat = (57.15 + (length - 254) * 3 / 16) * rng.uniform(0.95, 1.06)
    tread = (78.32 + (length - 254) / 4) * rng.uniform(0.95, 1.06)
    girth = max(5 * (0.15 * length + 6 + rng.uniform(-1.5, 1.5)), 2.56 * tread)
    toe = rng.uniform(-0.4, 0.3) if child else rng.uniform(-1, 1)
    words = {
        "sll": length,
        "foot": ("left", "right")[int(rng.integers(2))],
        "heel": heel,
        "seat": seat,
        "tread": tread,
        "girth": girth,
        "radius": min(float(rng.choice([0, 0, 0.5, 1, 2, 3, 4, 5, 6])), 0.11 * seat),
        "edge": rng.uniform(1.2, 1.6) if eu < 30 else rng.uniform(1.4, 2.6),
        "toe": toe,
        "extension": rng.uniform(0, 25 * toe) * share if toe > 0.2 else 0,
        "tilt": rng.uniform(-4, 10),
        "pitch": float(np.clip(rng.normal(heel / 14, 1), 0, 8)),
        "forward": rng.uniform(-1, 1) * share,
        "spring": rng.uniform(6, 16) * share**0.5,
        "dome": rng.uniform(1.5, 5) * share,
        "arch": rng.uniform(1.5, 6) * share,
        "swing": rng.uniform(1, 9) * share,
        "bulge": rng.uniform(3.5, 8.5) * (0.6 if child else 1),
    }
    return eu, {k: v if isinstance(v, str) else round(v, 3) for k, v in words.items()}


def without_top(mesh, truth):
    """The flat top cut away: what stays is open there."""
    back, front = truth["top_back"], truth["top_front"]
    along = (front - back) / np.linalg.norm(front - back)
    up = np.cross(along, [0, 1, 0])
    up *= np.sign(up[2])
    top = ((mesh.triangles_center - back) @ up > -0.3) & (mesh.face_normals @ up > 0.9)
    opened = trimesh.Trimesh(mesh.vertices, mesh.faces[~top], process=False)
    opened.remove_unreferenced_vertices()
    return opened


def plate_under_top(mesh, truth, rng):
    """A square sheet round the rim of the open top, joined to it: the last was scanned upside
    down, standing on its top on a plate, which was scanned along with it."""
    rim = rim_of(mesh)
    points = mesh.vertices[rim]
    middle = points.mean(0)
    back, front = truth["top_back"], truth["top_front"]
    x = (front - back) / np.linalg.norm(front - back)
    y = np.cross(np.cross(x, [0, 1, 0]), x)
    y /= np.linalg.norm(y)
    half = rng.uniform(0.55, 0.8) * np.ptp(mesh.vertices[:, 0])
    flat = np.column_stack([(points - middle) @ x, (points - middle) @ y])
    angle = np.arctan2(flat[:, 1], flat[:, 0])
    # Rings from the rim out to the square, each with as many points as the rim.
    outer = flat / np.abs(flat).max(1)[:, None] * half
    rings, rows = [rim], [mesh.vertices]
    count = 24
    at = len(mesh.vertices)
    for k in range(1, count + 1):
        share = k / count
        ring = flat + (outer - flat) * share**1.5
        rows.append(middle + ring[:, :1] * x + ring[:, 1:] * y)
        rings.append(np.arange(at, at + len(rim)))
        at += len(rim)
    faces = [mesh.faces]
    # The body lies on the other side of the plate from its top: the sheet faces down to it.
    for low, high in zip(rings, rings[1:]):
        a, b, c, d = low, np.roll(low, -1), np.roll(high, -1), high
        faces += [np.column_stack([b, a, c]), np.column_stack([c, a, d])]
    assert len(angle) == len(rim)
    return trimesh.Trimesh(np.vstack(rows), np.vstack(faces), process=False)


def rim_of(mesh):
    """The vertices of the one open rim, in the order of the triangles along it."""
    sides = np.sort(mesh.edges, axis=1)
    _, first, counts = np.unique(sides, axis=0, return_index=True, return_counts=True)
    border = mesh.edges[first[counts == 1]]
    after = dict(border.tolist())
    assert len(after) == len(border), "the rim touches itself"
    start = border[0][0]
    rim = [start]
    while after[rim[-1]] != start:
        rim.append(after[rim[-1]])
    assert len(rim) == len(border), "there is more than one rim"
    return np.array(rim)


def scan(number, mesh, truth):
    """The last with this number as scanned: (mesh in the file's coordinates, file_from_truth,
    unit, what was done to it)."""
    rng = np.random.default_rng(19000 + number)
    noise = (0.0, 0.1)[number % 2]
    top = ("closed", "open", "plate")[number % 3]
    unit = list(UNITS)[number % 4]
    if top != "closed":
        mesh = without_top(mesh, truth)
    vertices = mesh.vertices.copy()
    # A displacement of 0.1 mm root mean square.
    vertices += rng.normal(0, noise / np.sqrt(3), vertices.shape)
    mesh = trimesh.Trimesh(vertices, mesh.faces, process=False)
    body = len(vertices)
    if top == "plate":
        mesh = plate_under_top(mesh, truth, rng)
    turn = trimesh.transformations.random_rotation_matrix(rng.random(3))
    file_from_truth = turn.copy()
    file_from_truth[:3, :3] /= UNITS[unit]
    file_from_truth[:3, 3] = rng.normal(0, 200, 3) / UNITS[unit]
    out = trimesh.Trimesh(mesh.vertices, mesh.faces, process=False)
    out.apply_transform(file_from_truth)
    return out, file_from_truth, unit, {"noise": noise, "top": top, "body": body}
