"""Edges, points and triangles that no surface has: fins, bow-ties, slivers, spikes, folds."""

import numpy as np
import trimesh

from broken_form import Broken, case, site, together, whole, within, without


def band(radius, width, turns, n=60):
    """A closed strip that turns over `turns` half times."""
    angle = np.linspace(0, 2 * np.pi, n, endpoint=False)
    tilt = angle * turns / 2
    out = np.c_[np.cos(angle), np.sin(angle), 0 * angle]
    across = out * np.cos(tilt)[:, None] + np.array([0, 0, 1]) * np.sin(tilt)[:, None]
    ends = [out * radius + across * side * width / 2 for side in (-1, 1)]
    k = np.arange(n)
    low, high = k, k + n
    next_low, next_high = np.roll(low, -1), np.roll(high, -1)
    if turns % 2:
        next_low[-1], next_high[-1] = high[0], low[0]
    faces = np.vstack([np.c_[low, next_low, next_high], np.c_[low, next_high, high]])
    return whole(np.vstack(ends), faces)


def tetrahedron(tip, direction, size):
    """A little pyramid whose first vertex is `tip`."""
    first = np.cross(direction, [0.3, 0.5, 0.81])
    first /= np.linalg.norm(first)
    second = np.cross(direction, first)
    base = tip + direction * size
    ring = [base + size * (np.cos(a) * first + np.sin(a) * second) / 2 for a in (0, 2.1, 4.2)]
    return whole([tip, *ring], [[0, 2, 1], [0, 3, 2], [0, 1, 3], [1, 2, 3]])


def edge_near(mesh, at):
    """The ends of an edge near a place by name, and the normal there."""
    middle, normal = site(mesh, at)
    edges = mesh.edges_unique
    far = np.linalg.norm(mesh.vertices[edges].mean(axis=1) - middle, axis=1)
    return edges[far.argmin()], normal


@case("fin-of-one-triangle", "fins-removed", high=4.0, count=1)
@case("fin-of-one-triangle-noisy", "fins-removed", high=4.0, count=1, noise=0.1)
@case("tall-fin", "fins-removed", high=25.0, count=1, unit="m")
@case("twenty-fins", "fins-removed", high=5.0, count=20, file="stl")
def fin(last, draw, high, count):
    """Single triangles that stand on an edge."""
    if count == 1:
        (a, b), normal = edge_near(last, "vamp")
        chosen, normals = np.array([[a, b]]), np.array([normal])
    else:
        chosen = last.edges_unique[draw.choice(len(last.edges_unique), count, replace=False)]
        normals = last.vertex_normals[chosen[:, 0]]
    middles = last.vertices[chosen].mean(axis=1)
    tips = middles + normals * high
    n = len(last.vertices)
    faces = np.c_[chosen, n + np.arange(count)]
    return Broken(
        whole(np.vstack([last.vertices, tips]), np.vstack([last.faces, faces])),
        list(middles), high / 2 + 3,
    )


@case("long-fin", "fins-removed", also=["touching-parted"])
def long_fin(last, draw):
    """A strip 12 mm high on a row of edges along the outside."""
    middle, normal = site(last, "waist-outside")
    ends = last.edges_unique
    centre = last.vertices[ends].mean(axis=1)
    along = last.vertices[ends[:, 1]] - last.vertices[ends[:, 0]]
    flat = np.abs(along[:, 0]) > 0.95 * np.linalg.norm(along, axis=1)
    row = flat & (np.abs(centre[:, 0] - middle[0]) < 25) & (np.abs(centre[:, 2] - middle[2]) < 1.8)
    row &= centre[:, 1] < 0
    chosen = ends[row]
    assert len(chosen) > 4
    used, index = np.unique(chosen, return_inverse=True)
    n = len(last.vertices)
    a, b = index.reshape(-1, 2).T
    faces = np.vstack([np.c_[used[a], used[b], n + a], np.c_[used[b], n + b, n + a]])
    vertices = np.vstack([last.vertices, last.vertices[used] + normal * 12])
    return Broken(whole(vertices, np.vstack([last.faces, faces])), list(centre[row]), 14)


@case("wall-through-the-inside", "fins-removed", also=["touching-parted"])
def inner_wall(last, draw):
    """A section of the last closed by a wall whose rim are edges of the surface."""
    front = last.slice_plane([100.3, 0, 0], [1, 0, 0], cap=False)
    back = last.slice_plane([100.3, 0, 0], [-1, 0, 0], cap=False)
    body = together(front, back)
    body.merge_vertices(digits_vertex=6)
    ring = np.flatnonzero(np.abs(body.vertices[:, 0] - 100.3) < 1e-6)
    flat = body.vertices[ring] - body.vertices[ring].mean(axis=0)
    ring = ring[np.arctan2(flat[:, 2], flat[:, 1]).argsort()]
    middle = body.vertices[ring].mean(axis=0)
    n = len(body.vertices)
    faces = np.c_[ring, np.roll(ring, -1), np.full(len(ring), n)]
    mesh = whole(np.vstack([body.vertices, middle]), np.vstack([body.faces, faces]))
    return Broken(mesh, [middle], 30)


@case("bow-tie-at-a-vertex", "crumbs-removed")
def bow_tie(last, draw):
    """A little pyramid that shares one vertex with the surface."""
    middle, normal = site(last, "instep")
    small = tetrahedron(middle, normal, 3.0)
    v = np.linalg.norm(last.vertices - middle, axis=1).argmin()
    n = len(last.vertices)
    number = np.array([v, n, n + 1, n + 2])
    mesh = whole(
        np.vstack([last.vertices, small.vertices[1:]]), np.vstack([last.faces, number[small.faces]])
    )
    return Broken(mesh, [middle], 5)


@case("pinched-to-a-point", "touching-parted", also=["seams-closed", "points-joined"])
def pinched(last, draw):
    """Two vertices of the waist that are no neighbours made one: the surface touches itself."""
    first, _ = site(last, "waist-outside")
    a = np.linalg.norm(last.vertices - first, axis=1).argmin()
    far = np.linalg.norm(last.vertices - first, axis=1)
    b = np.where((far > 7) & (far < 13), far, np.inf).argmin()
    vertices, faces = last.vertices.copy(), last.faces.copy()
    vertices[a] = (vertices[a] + vertices[b]) / 2
    faces[faces == b] = a
    mesh = whole(vertices, faces)
    mesh.remove_unreferenced_vertices()
    return Broken(mesh, [vertices[a]], 15)


@case("block-touching-along-an-edge", "fins-removed", also=["touching-parted", "crumbs-removed"])
def touching_edge(last, draw):
    """A little body that shares an edge with the last: four triangles there."""
    (a, b), normal = edge_near(last, "vamp")
    pa, pb = last.vertices[a], last.vertices[b]
    side = np.cross(pb - pa, normal)
    n = len(last.vertices)
    top = (pa + pb) / 2 + normal * 5
    new = [top + side, top - side]
    c, d = n, n + 1
    faces = [[a, b, c], [b, a, d], [a, c, d], [b, d, c]]
    mesh = whole(np.vstack([last.vertices, new]), np.vstack([last.faces, faces]))
    return Broken(mesh, [(pa + pb) / 2], 8)


@case("moebius-band-beside", "crumbs-removed", also=["twisted-removed"], joined=False)
@case("moebius-band-on-an-edge", "fins-removed", also=["twisted-removed", "crumbs-removed"],
      joined=True)
def moebius(last, draw, joined):
    """A band that turns over once, beside the last or joined to it along an edge."""
    middle, normal = site(last, "vamp")
    strip = band(15, 6, 1)
    if not joined:
        strip = whole(strip.vertices + middle + normal * 40, strip.faces)
        return Broken(together(last, strip), [middle + normal * 40], 20)
    (a, b), normal = edge_near(last, "vamp")
    turn = trimesh.geometry.align_vectors([1, 0, 0], -normal)[:3, :3]
    vertices = strip.vertices @ turn.T
    vertices = vertices - vertices[0] + last.vertices[a]
    n = len(last.vertices)
    number = n + np.arange(len(vertices))
    # Along the strip the first two points of one side.
    number[0], number[1] = a, b
    mesh = whole(np.vstack([last.vertices, vertices]), np.vstack([last.faces, number[strip.faces]]))
    mesh.remove_unreferenced_vertices()
    return Broken(mesh, [middle], 40, changed=10)


@case("needles", "points-joined", "empty-triangles-removed")
def needles(last, draw):
    """Forty edges divided a hair from their end."""
    return divided(last, draw, lambda a, b: a + (b - a) * 1e-6)


@case("needles-that-keep-their-width", file="stl",
      harmless="0.7 microns wide: the surface is the same, and no triangle is without height")
def coarse_needles(last, draw):
    return divided(last, draw, lambda a, b: a + (b - a) * 2e-4)


def divided(last, draw, at):
    vertices, faces = list(last.vertices), list(map(list, last.faces))
    places = []
    used = np.zeros(len(faces), bool)
    order = draw.permutation(len(last.face_adjacency))
    for k in order:
        f, g = last.face_adjacency[k]
        a, b = last.face_adjacency_edges[k]
        ring = (last.faces == a).any(axis=1) | (last.faces == b).any(axis=1)
        if used[ring].any():
            continue
        used[ring] = True
        new = len(vertices)
        vertices.append(at(last.vertices[a], last.vertices[b]))
        places.append(vertices[-1])
        for face in (f, g):
            t = faces[face]
            near, far = list(t), list(t)
            near[t.index(b)], far[t.index(a)] = new, new
            faces[face] = near
            faces.append(far)
        if len(places) == 40:
            break
    return Broken(whole(vertices, faces), places, 6)


@case("triangles-without-area", "slivers-mended", also=["touching-parted", "empty-triangles-removed", "hole-filled", "points-joined", "seams-closed"])
def without_area(last, draw):
    """Thirty edges with a triangle of no height in them: the third point lies in the edge."""
    return t_junctions_of(last, draw, closed=True)


@case("t-junctions", "seams-closed", also=["touching-parted", "points-joined"])
@case("t-junctions-noisy", "seams-closed", also=["touching-parted", "points-joined"], noise=0.1,
      file="stl", unit="cm")
def t_junctions(last, draw):
    """Thirty edges divided by a point on one side only."""
    return t_junctions_of(last, draw, closed=False)


def t_junctions_of(last, draw, closed):
    vertices, faces, places = list(last.vertices), list(map(list, last.faces)), []
    used = np.zeros(len(faces), bool)
    for k in draw.permutation(len(last.face_adjacency)):
        f, g = last.face_adjacency[k]
        a, b = last.face_adjacency_edges[k]
        if used[f] or used[g]:
            continue
        used[f] = used[g] = True
        new = len(vertices)
        vertices.append(last.vertices[a] * 0.45 + last.vertices[b] * 0.55)
        places.append(vertices[-1])
        t = faces[f]
        near, far = list(t), list(t)
        near[t.index(b)], far[t.index(a)] = new, new
        faces[f] = near
        faces.append(far)
        if closed:
            along = t.index(b) == (t.index(a) + 1) % 3
            faces.append([a, b, new] if along else [b, a, new])
        if len(places) == 30:
            break
    return Broken(whole(vertices, faces), places, 4)


@case("triangles-on-a-repeated-point", "empty-triangles-removed", file="obj")
def repeated_point(last, draw):
    """Triangles that name one vertex twice."""
    chosen = draw.choice(len(last.faces), 50, replace=False)
    extra = last.faces[chosen].copy()
    extra[:, 2] = extra[:, 1]
    return Broken(
        whole(last.vertices, np.vstack([last.faces, extra])),
        list(last.triangles_center[chosen]), 5,
    )


@case("triangles-twice", "doubled-triangles-removed", over=False)
@case("triangles-twice-the-other-way", "doubled-triangles-removed", over=True, file="stl")
def twice(last, draw, over):
    chosen = draw.choice(len(last.faces), 100, replace=False)
    extra = last.faces[chosen][:, ::-1] if over else last.faces[chosen]
    places = list(last.triangles_center[chosen])
    return Broken(whole(last.vertices, np.vstack([last.faces, extra])), places, 1)


@case("spike", "spikes-removed", count=1, high=10.0)
@case("spike-inward", "spikes-removed", count=1, high=-15.0, unit="cm")
@case("spikes-in-a-noisy-scan", "spikes-removed", count=5, high=12.0, noise=0.1)
@case("spike-as-long-as-the-last", "spikes-removed", count=1, high=260.0)
def spikes(last, draw, count, high):
    """Single vertices far off the surface."""
    names = ["vamp", "waist-outside", "heel-side", "shank", "instep"][:count]
    vertices = last.vertices.copy()
    places = []
    for name in names:
        middle, normal = site(last, name)
        v = np.linalg.norm(last.vertices - middle, axis=1).argmin()
        vertices[v] += normal * high
        places.append(vertices[v])
    return Broken(whole(vertices, last.faces), places, 5)


@case("fold", "crossing-left")
@case("fold-noisy", "crossing-left", noise=0.1, unit="in")
def fold(last, draw):
    """A patch pushed sideways over its neighbours, as where two scans were laid wrongly."""
    middle, normal = site(last, "waist-outside")
    to = last.vertices - middle
    far = np.linalg.norm(to, axis=1)
    weight = np.clip(1 - (far / 14) ** 2, 0, 1) ** 0.5
    shift = np.array([1.0, 0, 0]) * 12 - normal * 1.0
    return Broken(whole(last.vertices + weight[:, None] * shift, last.faces), [middle], 30)


@case("dent-through-the-other-side", "crossing-left")
def deep_dent(last, draw):
    """A patch pushed in so far that it comes out on the other side."""
    middle, normal = site(last, "waist-outside")
    far = np.linalg.norm(last.vertices - middle, axis=1)
    weight = np.exp(-((far / 6) ** 2))
    deep = whole(last.vertices - weight[:, None] * normal * 90, last.faces)
    return Broken(deep, [middle], 90, changed=30)
