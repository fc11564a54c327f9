"""Shells that are there twice, inside out, in loose triangles, or cracked."""

import numpy as np
import trimesh

from broken_form import Broken, case, is_top, site, together, turned_over, moved, whole, without


@case("doubled-exactly", "points-joined", "doubled-shell-removed", by=0.0, unit="m")
@case("doubled-the-other-way-round", "points-joined", "doubled-shell-removed", by=0.0, over=True)
@case("doubled-by-a-hair", "doubled-shell-removed", by=0.01, noise=0.1)
@case("doubled-by-a-tenth", "doubled-shell-removed", by=0.1)
@case("doubled-by-a-hair-with-open-top", "doubled-shell-removed", "opening-left", by=0.01,
      opened=True, openings=1)
def doubled(last, draw, by, over=False, opened=False):
    """The whole surface a second time, a little aside."""
    last = without(last, is_top(last)) if opened else last
    again = turned_over(last) if over else last
    return Broken(together(last, moved(again, np.array([0.36, -0.48, 0.8]) * by)))


@case("inner-shell-of-a-hollow-model", "inner-shell-removed", thick=3.0)
@case("inner-shell-with-open-top", "inner-shell-removed", "opening-left", thick=2.0, opened=True,
      openings=1, noise=0.1)
def inner_shell(last, draw, thick, opened=False):
    """The wall of a hollow model: a second surface inside, facing in."""
    last = without(last, is_top(last)) if opened else last
    inner = whole(last.vertices - last.vertex_normals * thick, last.faces)
    return Broken(together(last, turned_over(inner)))


@case("hollow-with-its-rim-joined", "inner-shell-removed", "opening-left", thick=3.0, openings=1,
      # Where the two walls pass through each other, at sharp edges.
      also=["hole-filled", "crossing-left"])
def hollow(last, draw, thick):
    """Open at the top, with an inner wall that is joined to the outer one round the rim."""
    outer = without(last, is_top(last))
    inner = turned_over(whole(outer.vertices - outer.vertex_normals * thick, outer.faces))
    both = together(outer, inner)
    n = len(outer.vertices)
    sides = np.sort(outer.edges, axis=1)
    _, first, counts = np.unique(sides, axis=0, return_index=True, return_counts=True)
    rim = outer.edges[first[counts == 1]]
    a, b = rim[:, 0], rim[:, 1]
    strip = np.vstack([np.c_[b, a, a + n], np.c_[b, a + n, b + n]])
    return Broken(whole(both.vertices, np.vstack([both.faces, strip])))


@case("inside-out", "turned-outward", part="all", unit="cm", file="stl")
@case("inside-out-with-open-top", "turned-outward", "opening-left", part="all", opened=True,
      openings=1, noise=0.1)
@case("half-the-triangles-inside-out", "turned-outward", part="half", unit="in")
@case("one-part-inside-out", "turned-outward", part="toe")
def inverted(last, draw, part, opened=False):
    last = without(last, is_top(last)) if opened else last
    which = {
        "all": np.ones(len(last.faces), bool),
        "half": draw.random(len(last.faces)) < 0.5,
        "toe": last.triangles_center[:, 0] > 150,
    }[part]
    return Broken(turned_over(last, which))


@case("loose-triangles", harmless="every STL file is like this", jitter=False, file="stl")
@case("loose-triangles-a-step-apart", "points-joined",
      also=["doubled-triangles-removed", "empty-triangles-removed"], jitter=True, file="stl")
@case("loose-triangles-a-step-apart-far-off", "points-joined",
      also=["doubled-triangles-removed", "empty-triangles-removed"], jitter=True, away=3000,
      file="stl", unit="mm")
def loose(last, draw, jitter, away=0):
    """Triangles that share no vertex, each coordinate off by a step of single precision or not."""
    frame = np.eye(4)
    frame[:3, 3] = away
    corners = last.triangles.reshape(-1, 3) + away
    if jitter:
        corners = corners + draw.integers(-1, 2, corners.shape) * np.spacing(np.float32(200 + away))
    return Broken(whole(corners, np.arange(len(corners)).reshape(-1, 3)), frame=frame)


@case("halves-with-a-gap", "seams-closed", gap=0.1)
@case("halves-with-a-gap-noisy", "seams-closed", gap=0.15, noise=0.1, unit="cm")
@case("halves-exactly-abutting", "points-joined", gap=0.0, file="obj")
def halves(last, draw, gap):
    """Two halves, each with vertices of its own, a gap between."""
    front = last.triangles_center[:, 0] > 100
    return Broken(together(moved(without(last, ~front), [gap, 0, 0]), without(last, front)))


@case("halves-with-different-points", "seams-closed",
      also=["hole-filled", "touching-parted", "points-joined", "slivers-mended"])
def unmatched_halves(last, draw):
    """One half is meshed finer along the cut than the other."""
    plane = {"plane_origin": [100.3, 0, 0], "cap": False}
    front = last.slice_plane(plane_normal=[1, 0, 0], **plane)
    back = last.slice_plane(plane_normal=[-1, 0, 0], **plane)
    rim = np.abs(back.triangles[:, :, 0] - 100.3).min(axis=1) < 1e-6
    vertices, faces = trimesh.remesh.subdivide(back.vertices, back.faces, np.flatnonzero(rim))
    return Broken(together(front, whole(vertices, faces)), None)


@case("crack", "seams-closed", wide=0.2)
@case("crack-too-wide-for-a-seam", "hole-filled", also=["seams-closed"], wide=1.0)
def crack(last, draw, wide):
    """A cut along edges, 40 mm long, pulled open."""
    middle, _ = site(last, "waist-outside")
    graph = last.vertex_adjacency_graph
    start = np.linalg.norm(last.vertices - (middle + [-20, 0, 0]), axis=1).argmin()
    end = np.linalg.norm(last.vertices - (middle + [20, 0, 0]), axis=1).argmin()
    import networkx

    length = lambda a, b, _: np.linalg.norm(last.vertices[a] - last.vertices[b])
    line = networkx.shortest_path(graph, start, end, weight=length)
    inner = line[1:-1]
    place = np.array(last.vertices[line])
    # The triangles above the line get points of their own.
    vertices, faces = last.vertices.copy(), last.faces.copy()
    for k, v in enumerate(inner):
        new = len(vertices)
        shift = np.array([0, 0, wide]) * np.sin(np.pi * (k + 1) / (len(line) - 1))
        vertices = np.vstack([vertices, vertices[v] + shift])
        ring = np.flatnonzero((last.faces == v).any(axis=1))
        for face in ring:
            if above(last, face, v, line, k + 1):
                faces[face][last.faces[face] == v] = new
    return Broken(whole(vertices, faces), list(place), 6)


def above(mesh, face, v, line, k):
    """Whether a triangle at a line's vertex lies left of the line, seen from outside."""
    ring = [v]
    around = mesh.faces[(mesh.faces == v).any(axis=1)]
    after = {}
    for t in around:
        at = int(np.flatnonzero(t == v)[0])
        after[t[(at + 1) % 3]] = t[(at + 2) % 3]
    ring = [line[k + 1]]
    while ring[-1] != line[k - 1]:
        ring.append(after[ring[-1]])
    others = set(int(w) for w in mesh.faces[face] if w != v)
    return others <= set(int(w) for w in ring)
