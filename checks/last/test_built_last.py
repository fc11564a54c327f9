"""Built lasts, measured by trimesh and scipy on the file that was written.

Sources: trimesh (watertight, winding, volume, sections, extents), scipy's qhull (girth of a
taut tape = perimeter of the convex hull of the section), libigl (self-intersections).
"""

import json
import subprocess

import numpy as np
import pytest
import trimesh
from scipy.spatial import ConvexHull, cKDTree

CASES = [
    # EU size, foot, heel height, edge radius, and what else is asked
    (36, "right", 10, 0, ""),
    (36, "left", 60, 5, ""),
    (38, "left", 45, 2, ""),
    (40, "right", 25, 5, ""),
    (41, "right", 60, 0, ""),
    (42, "left", 25, 0, ""),
    (44, "right", 60, 2, ""),
    (46, "left", 10, 5, ""),
    (46, "right", 35, 0, ""),
    (20, "right", 12, 0, "edge=1.5"),
    (24, "left", 8, 3, "edge=1.5 toe=-0.3"),
    (38, "right", 80, 0, "toe=1 extension=20 pitch=6 tilt=5"),
    (39, "left", 70, 3, "toe=0.6 extension=10 pitch=5 tilt=-3"),
    (44, "left", 5, 6, "toe=-1 tilt=8 forward=1"),
    (48, "right", 30, 6, "toe=-0.5 pitch=2"),
]


@pytest.fixture(scope="session")
def builder(example):
    return example("build_last")


@pytest.fixture(scope="session", params=CASES, ids=lambda c: "eu{}-{}-h{}-r{} {}".format(*c).strip())
def last(request, builder, tmp_path_factory):
    size, foot, heel, radius, more = request.param
    path = tmp_path_factory.mktemp("last") / "last.obj"
    sll = size * 20 / 3
    asked = {
        "length": sll + float(dict(w.split("=") for w in more.split()).get("extension", 0)),
        "girth": 5 * (size + 6),
        "heel": heel,
        "spring": 12.0,
        "seat": 57.15 + (sll - 254) * 3 / 16,
        "tread": 78.32 + (sll - 254) / 4,
        "radius": radius,
    }
    words = [f"{name}={value!r}" for name, value in asked.items() if name != "length"] + more.split()
    subprocess.run([builder, path, f"sll={sll!r}", f"foot={foot}", *words], check=True)
    mesh = trimesh.load(path, process=False)
    truth = json.loads(path.with_name("last.obj.truth.json").read_text())
    truth = {k: np.array(v) for k, v in truth.items()}
    asked["edge"] = float(dict(w.split("=") for w in more.split()).get("edge", 2.5))
    asked["usual"] = not more
    return mesh, truth, asked, foot


def test_solid(last):
    mesh, _, asked, _ = last
    assert mesh.is_watertight
    assert mesh.is_winding_consistent
    assert mesh.euler_number == 2
    # An adult's last holds half a litre and more, a child's as much less as it is shorter.
    assert mesh.volume > 4e5 * min(1, asked["length"] / 240) ** 3
    assert mesh.area_faces.min() > 0.016 * asked["edge"] ** 2


def test_no_two_triangles_cross(last):
    """Every edge against every triangle near it that shares no corner with it."""
    mesh, *_ = last
    triangles, vertices = mesh.faces, mesh.vertices
    corners = vertices[triangles]
    tree = cKDTree(mesh.triangles_center)
    reach = np.linalg.norm(corners - mesh.triangles_center[:, None], axis=2).max()
    pairs = tree.query_pairs(2 * reach, output_type="ndarray")
    shared = (triangles[pairs[:, 0]][:, :, None] == triangles[pairs[:, 1]][:, None, :]).any((1, 2))
    pairs = pairs[~shared]
    for one, other in (pairs.T, pairs.T[::-1]):
        t = corners[other]
        normal = np.cross(t[:, 1] - t[:, 0], t[:, 2] - t[:, 0])
        for k in range(3):
            a, b = corners[one][:, k], corners[one][:, (k + 1) % 3]
            da = np.einsum("ij,ij->i", a - t[:, 0], normal)
            db = np.einsum("ij,ij->i", b - t[:, 0], normal)
            cut = da * db < 0
            at = a[cut] + (b - a)[cut] * (da / np.where(da == db, 1, da - db))[cut][:, None]
            inside = np.ones(len(at), bool)
            for m in range(3):
                p, q = t[cut][:, m], t[cut][:, (m + 1) % 3]
                turn = np.einsum("ij,ij->i", np.cross(q - p, at - p), normal[cut])
                inside &= turn >= 0
            assert not inside.any(), at[inside][:5]


def test_measures(last):
    mesh, truth, asked, foot = last
    assert mesh.extents[0] == pytest.approx(asked["length"], abs=0.05)
    assert -mesh.bounds[0][2] == pytest.approx(asked["heel"], abs=0.1)
    assert truth["toe"][2] - mesh.bounds[0][2] == pytest.approx(asked["spring"], abs=0.1)
    line = truth["feather_line"]
    seat = line[line[:, 0] < 0.3 * line[:, 0].max()]
    tread = line[line[:, 0] > 0.5 * line[:, 0].max()]
    assert np.ptp(seat[:, 1]) == pytest.approx(asked["seat"], abs=0.1)
    assert np.ptp(tread[:, 1]) == pytest.approx(asked["tread"], abs=0.1)

    along = truth["joint_medial"] - truth["joint_lateral"]
    along[2] = 0
    along /= np.linalg.norm(along)
    section = mesh.section(np.cross(along, [0, 0, 1]), truth["joint_medial"])
    points = np.column_stack([section.vertices @ along, section.vertices[:, 2]])
    assert ConvexHull(points).area == pytest.approx(asked["girth"], abs=0.2)
    inside = 1 if foot == "right" else -1
    assert truth["joint_medial"][1] * inside > 0 > truth["joint_lateral"][1] * inside


def test_stands_in_its_own_frame(last):
    """x runs through the middle of the joints, which are the widest places in that very frame;
    the tread is lowest under them; the feather line is level across at seat and tread."""
    mesh, truth, asked, foot = last
    line, left, right = truth["feather_line"], truth["joint_medial"], truth["joint_lateral"]
    if foot == "left":
        left, right = right, left
    reach = truth["toe"][0]
    fore = line[line[:, 0] > 0.5 * reach]
    assert left[1] == pytest.approx(fore[:, 1].max(), abs=0.01)
    assert right[1] == pytest.approx(fore[:, 1].min(), abs=0.01)
    middle = (left + right) / 2
    assert abs(middle[1]) < 0.02
    assert line[:, 0].min() > -0.01 and np.linalg.norm(truth["seat"]) < 1e-9
    lowest = mesh.vertices[mesh.vertices[:, 2] < mesh.bounds[0][2] + 0.003]
    assert abs(lowest[:, 0].mean() - middle[0]) < 2.5
    slopes = []
    for low, high in ((0.03, 0.15), (0.66, 0.80)):
        part = line[(line[:, 0] > low * reach) & (line[:, 0] < high * reach)]
        across = part[part[:, 1] > 0].mean(0) - part[part[:, 1] < 0].mean(0)
        slopes.append(across[2] / across[1])
    assert abs(sum(slopes) / 2) < np.radians(0.1)


def test_feather_line_lies_on_the_surface_and_bends(last):
    mesh, truth, asked, _ = last
    line = truth["feather_line"]
    _, off, _ = trimesh.proximity.closest_point(mesh, line[::7])
    assert off.max() < 0.15
    middles = mesh.vertices[mesh.face_adjacency_edges].mean(1)
    away, _ = cKDTree(line).query(middles)
    # The wall of a pointed or a child's toe leans further out than that of the usual last.
    least = 60 if asked["usual"] else 40
    sharp = (mesh.face_adjacency_angles > np.radians(least)) & (away < 0.5)
    length = np.linalg.norm(np.diff(line, axis=0, append=line[:1]), axis=1).sum()
    if asked["radius"] == 0:
        assert sharp.sum() == pytest.approx(length / asked["edge"], abs=5)
    else:
        assert not ((mesh.face_adjacency_angles > np.radians(60)) & (away < 0.5)).any()


def test_sections_have_no_ripples(last):
    """Level sections of the wall: their bending swings no more often than a last's does.

    The turn per millimetre is taken over chords of 4 mm of the section as it is; where it is
    stronger than a radius of 150 mm, its sign may change twice on each side (heel round, waist
    hollow or straight, forefoot round), and round the heel it never does.
    """
    mesh, truth, asked, _ = last
    top = float(min(truth["top_back"][2], truth["top_front"][2]))
    for z in (0.2 * top, 0.35 * top, 0.55 * top, 0.75 * top):
        section = mesh.section([0, 0, 1], [0, 0, z])
        ring = max(section.discrete, key=len)[:-1, :2]
        run = np.r_[0, np.cumsum(np.linalg.norm(np.diff(ring, axis=0, append=ring[:1]), axis=1))]
        closed = np.vstack([ring, ring[:1]])
        even = np.linspace(0, run[-1], int(run[-1] / 4), endpoint=False)
        p = np.column_stack([np.interp(even, run, closed[:, k]) for k in range(2)])
        u, v = np.roll(p, -1, 0) - p, p - np.roll(p, 1, 0)
        turn = (v[:, 0] * u[:, 1] - v[:, 1] * u[:, 0]) / 4.0**3
        turn *= np.sign(turn.sum())
        signs = np.sign(turn[np.abs(turn) > 1 / 150])
        # A square toe flares, and a high heel's instep is hollowed: once more on each side.
        assert (signs != np.roll(signs, 1)).sum() <= (4 if asked["usual"] else 8), (z, turn.round(3))
        # The instep of the highest heel is hollowed a little more tightly.
        assert turn.min() > -1 / (30 if asked["usual"] else 25), (z, turn.min())
        around = turn[p[:, 0] < p[:, 0].min() + 12]
        assert around.min() > 0.01, (z, around)
