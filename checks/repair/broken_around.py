"""What lies around a last in a scan: crumbs, debris, other bodies, what it stood on."""

import numpy as np
import shapely
import shapely.geometry as sg
import trimesh

from broken_edges import tetrahedron
from broken_form import Broken, case, is_top, moved, site, together, turned_over, whole, within, without
from standing import flat, sheeted, stood, wall


@case("specks", "crumbs-removed", count=40, noise=0.1, unit="cm")
@case("three-hundred-specks", "crumbs-removed", count=300, file="stl")
def specks(last, draw, count):
    """Little pyramids all around."""
    small = []
    for _ in range(count):
        at = draw.uniform([-40, -70, -30], [290, 70, 110])
        if trimesh.proximity.closest_point(last, [at])[1][0] < 4 or count > 100:
            at[1] = 60 + draw.uniform(0, 20)
        small.append(tetrahedron(at, np.array([0, 0, 1.0]), draw.uniform(0.5, 2)))
    places = [m.vertices.mean(axis=0) for m in small]
    return Broken(together(last, *small), places if count <= 12 else None)


@case("thread", "crumbs-removed")
def thread(last, draw):
    """A thin tube, 150 mm long, beside the last."""
    tube = trimesh.creation.cylinder(0.4, 150, sections=8)
    tube = moved(tube, [100, 70, 40])
    return Broken(together(last, tube), [[100, 70, 40]], 5)


@case("cube-nearby", "base-cut", kind="cube")
@case("ball-nearby", "crumbs-removed", kind="ball", unit="m")
@case("block-nearby", "base-cut", kind="block")
@case("second-body-as-large", refused=["two", "keep one", "delete"], kind="large-ball")
@case("foot-like-body-beside", refused=["two", "keep one", "delete"], kind="small-last")
def beside(last, draw, kind):
    """One other body, clear of the last."""
    other = {
        "cube": lambda: trimesh.creation.box([20, 20, 20]),
        "ball": lambda: trimesh.creation.icosphere(3, 15),
        "block": lambda: trimesh.creation.box([100, 60, 50]),
        "large-ball": lambda: trimesh.creation.icosphere(3, 60),
        "small-last": lambda: whole(last.vertices * 0.7, last.faces),
    }[kind]()
    middle = np.array([100.0, 150.0, 30.0])
    return Broken(together(last, moved(other, middle)), [middle], 30)


@case("islands-of-the-surface", "crumbs-removed", "hole-filled", noise=0.1)
def islands(last, draw):
    """Patches of the surface that a scanner placed 6 mm off, with a gap around."""
    mesh, pieces, places = last, [], []
    for name in ("vamp", "waist-inside", "heel-side"):
        middle, normal = site(last, name)
        piece = without(last, ~within(last, middle, 5))
        pieces.append(moved(piece, normal * 6))
        mesh = without(mesh, within(mesh, middle, 7))
        places.append(middle)
    return Broken(together(mesh, *pieces), places, 9)


@case("points-that-no-triangle-uses", "unused-points-removed", file="obj")
def unused(last, draw):
    cloud = draw.uniform([-40, -70, -30], [290, 70, 110], (200, 3))
    return Broken(whole(np.vstack([last.vertices, cloud]), last.faces))


@case("block-sunk-into-the-side", "crumbs-removed", also=["base-cut"])
def sunk(last, draw):
    """A small closed block that passes through the wall: a body of its own."""
    middle, normal = site(last, "waist-outside")
    block = moved(trimesh.creation.box([12, 12, 12]), middle)
    return Broken(together(last, block), [middle], 10)


@case("pair-of-lasts", refused=["two lasts", "keep one", "delete"], apart=120.0, mirrored=True)
@case("two-equal-lasts", refused=["two lasts", "keep one", "delete"], apart=100.0, mirrored=False,
      noise=0.1, unit="m")
@case("two-lasts-one-through-the-other", refused=["two lasts", "keep one", "delete"], apart=30.0,
      mirrored=False)
def pair(last, draw, apart, mirrored):
    other = whole(last.vertices * [1, -1, 1], last.faces[:, ::-1]) if mirrored else last
    return Broken(together(last, moved(other, [0, apart, 0])), [], 0)


UPSIDE_DOWN = trimesh.transformations.rotation_matrix(np.pi, [1, 0, 0])


def based(last, upside_down, **plate):
    """One surface of the last and a plate, in the frame of the last."""
    body = stood(last, upside_down)
    # The same vertices tell how the body was moved.
    turn = UPSIDE_DOWN[:3, :3] if upside_down else np.eye(3)
    shift = body.vertices[0] - turn @ last.vertices[0]
    scan = sheeted(body, **plate)
    vertices = (scan.vertices - shift) @ turn
    places = (np.array([[100.0, 0, plate.get("height", 0.3)]]) - shift) @ turn
    return Broken(whole(vertices, scan.faces), list(places), 340, changed=20)


ROUND = {"round_plate": True, "thickness": 6}


@case("sheet-under-the-top", "base-cut", also=["opening-left", "hole-filled"], size=400,
      openings=1, upside_down=True)
@case("fine-sheet-under-the-top", "base-cut", "opening-left",
      # Where noise meets the sheet there are slivers.
      also=["points-joined", "empty-triangles-removed"], size=400,
      edge=6.0, noise=0.1, openings=1, upside_down=True)
@case("slab-under-the-top", "base-cut", also=["opening-left", "hole-filled"], size=350,
      thickness=10, openings=1, upside_down=True, unit="in")
@case("disc-under-the-top", "base-cut", also=["opening-left", "hole-filled"], size=300,
      openings=1, upside_down=True, **ROUND)
@case("slab-under-the-tread", "base-cut", also=["hole-filled"],
      refused=["open", "bottom"], size=400, upside_down=False, thickness=8)
def on_a_plate(last, draw, upside_down, **plate):
    """The last stands on a plate, scanned as one surface with it."""
    return based(last, upside_down, **plate)


@case("separate-slab-below", "base-cut", gap=0.5, size=(400, 300, 8))
@case("separate-slab-touching", "base-cut", also=["touching-parted"], gap=0.0,
      size=(400, 300, 8), noise=0.1)
@case("separate-sheet-below", "base-cut", gap=1.0, size=(500, 400, 0), unit="m")
@case("separate-sheet-that-the-last-sinks-into", "base-cut", gap=-1.5, size=(300, 300, 0))
def separate_plate(last, draw, gap, size):
    """A plate under the tread, a body of its own."""
    low = last.vertices[:, 2].min() - gap
    if size[2]:
        plate = trimesh.creation.box(size)
        plate = moved(plate, [120, 0, low - size[2] / 2])
    else:
        x, y = size[0] / 2, size[1] / 2
        plate = flat(sg.box(120 - x, -y, 120 + x, y), low)
        plate.merge_vertices()
    return Broken(together(last, plate), [[120, 0, low]], 40)


def turntable(last, disc, rod):
    """The top of the last with a rod grown out of it, and a disc at the rod's end; mm across."""
    high = last.vertices[:, 2].max()
    body = without(last, is_top(last))
    rim_at = np.unique(trimesh.grouping.group_rows(body.edges_sorted, require_count=1))
    body.vertices[np.unique(body.edges[rim_at]), 2] = high
    rim = sg.Polygon(rim_of(body))
    pole = sg.Point(45, 0).buffer(rod / 2, 12)
    far = high + 120
    parts = [body, flat(rim.difference(pole), high), wall(pole, high, far)]
    if disc:
        plate = sg.Point(45, 0).buffer(disc / 2, 32)
        under = flat(plate.difference(pole), far)
        parts += [turned_over(under), wall(plate, far, far + 5), flat(plate, far + 5)]
    else:
        parts += [flat(pole, far)]
    mesh = trimesh.util.concatenate(parts)
    mesh.merge_vertices(digits_vertex=5)
    return mesh


def rim_of(mesh):
    """The open rim, seen from above."""
    sides = np.sort(mesh.edges, axis=1)
    _, first, counts = np.unique(sides, axis=0, return_index=True, return_counts=True)
    after = dict(mesh.edges[first[counts == 1]].tolist())
    ring = [next(iter(after))]
    while after[ring[-1]] != ring[0]:
        ring.append(after[ring[-1]])
    return mesh.vertices[ring][:, :2]


@case("turntable-with-a-rod", "base-cut", "opening-left", also=["hole-filled"], disc=200, rod=16,
      openings=1)
@case("rod-on-the-top", "base-cut", "opening-left", disc=0, rod=12, openings=1)
def on_a_rod(last, draw, disc, rod):
    """The last on a rod in its top, one surface with it."""
    return Broken(turntable(last, disc, rod), [[45, 0, 140]], 130, changed=20)


@case("turntable-with-a-rod-apart", "base-cut", also=["crumbs-removed"])
def rod_apart(last, draw):
    """Disc and rod as bodies of their own that reach into the last."""
    rod = moved(trimesh.creation.cylinder(8, 140, sections=32), [45, 0, 77 + 60])
    disc = moved(trimesh.creation.cylinder(110, 5, sections=64), [45, 0, 77 + 132])
    return Broken(together(last, rod, disc), [[45, 0, 140], [45, 0, 209]], 10)
