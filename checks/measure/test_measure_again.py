"""The same last in other files and with other triangles gives the same marks, and the same piece.

Sources: trimesh, numpy (turning, scaling, shuffling), igl and trimesh (other triangles, see
`remeshes.py`), ezdxf and shapely (the outline of the piece).
"""

import os

import ezdxf
import ezdxf.math
import igl
import numpy as np
import pytest
import shapely
import trimesh
from scipy.optimize import least_squares
from shapely.geometry import LineString, Polygon

import remeshes

UNITS = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": 25.4}
CASES = {
    "sharp": (dict(sll=260, foot="right", heel=25, edge=1.2), "EU 39"),
    "rounded": (dict(sll=240, foot="left", heel=50, radius=3, edge=1.2), "EU 36"),
}


def lines_apart(a, b):
    """The largest distance between two closed lines of points."""
    one, other = (shapely.linearrings(points) for points in (a, b))
    return max(
        shapely.distance(shapely.points(a), other).max(),
        shapely.distance(shapely.points(b), one).max(),
    )


def spread(points):
    points = np.asarray(points)
    return np.linalg.norm(points[:, None] - points[None], axis=2).max()


@pytest.fixture(scope="module", params=CASES, ids=str)
def last(request, build_last):
    words, size = CASES[request.param]
    path, truth = build_last(**words)
    assert path, truth
    return path, size, words


@pytest.fixture(scope="module")
def twenty(last, measured, disguised):
    """In twenty poses, units and orders, every other one mirrored; in the short form four."""
    path, size, _ = last
    found = []
    for seed in range(20 if "FEATHERLINE_ALL_SCANS" in os.environ else 4):
        unit = list(UNITS)[seed % 4]
        mirrored = seed % 2 == 1
        file = disguised(path, seed, UNITS[unit], mirrored)
        scan = measured(file, "--size", size)
        assert scan["unit"] == unit
        found.append((scan, mirrored))
    return found


def test_twenty_poses_units_and_orders(last, twenty):
    """Marks in the frame of the last, the mirrored ones mirrored back."""
    _, _, words = last
    other = {"left": "right", "right": "left"}[words["foot"]]
    for scan, mirrored in twenty:
        assert scan["foot"] == (other if mirrored else words["foot"])
    for name in twenty[0][0]["marks"]:
        flip = {True: [1, -1, 1], False: [1, 1, 1]}
        places = [np.multiply(scan["marks"][name], flip[m]) for scan, m in twenty]
        assert spread(places) <= 0.5, name
    # The feather line as a whole, in space.
    lines = [
        np.multiply(scan["feather_line"]["points"], [1, -1, 1] if m else [1, 1, 1])
        for scan, m in twenty
    ]
    tree = igl.point_mesh_squared_distance
    for line in lines[1:]:
        ends = np.column_stack([np.arange(len(lines[0])), np.roll(np.arange(len(lines[0])), -1)])
        off = np.sqrt(tree(np.ascontiguousarray(line), lines[0], ends)[0])
        assert off.max() <= 0.5


@pytest.fixture(scope="module")
def plain(last, measured):
    path, size, words = last
    return measured(path, "--size", size, "--heel-height", words["heel"])


@pytest.fixture(scope="module", params=remeshes.ALL, ids=str)
def remeshed(request, last, tmp_path_factory):
    path, _, _ = last
    mesh = trimesh.load(path, process=False)
    before = np.array(mesh.vertices), np.array(mesh.faces)
    after = [np.ascontiguousarray(a) for a in remeshes.ALL[request.param](*before)]
    assert len(after[1]) != len(before[1]) or request.param == "moved"
    for one, other in ((before, after), (after, before)):
        off = np.sqrt(igl.point_mesh_squared_distance(igl.barycenter(*one), *other)[0])
        assert off.max() < 0.04, "another surface"
    file = tmp_path_factory.mktemp("remeshed") / "last.obj"
    trimesh.Trimesh(*after, process=False).export(file, digits=9)
    return file


def test_marks_on_other_triangles(last, plain, remeshed, measured):
    _, size, words = last
    found = measured(remeshed, "--size", size, "--heel-height", words["heel"])
    assert found["foot"] == plain["foot"]
    for name, place in plain["marks"].items():
        assert np.linalg.norm(np.subtract(found["marks"][name], place)) <= 1.0, name
    for name in ("ball_girth", "instep_girth", "waist_girth", "length", "heel_height"):
        assert found[name] == pytest.approx(plain[name], abs=0.3), name


def drafted(featherline, job, scan, size, words, found):
    """The outline of the piece on a scan whose marks, line and pose are those of `found`."""
    turn = np.array(found["last_from_file"])
    back = np.linalg.inv(turn)

    def in_file(place):
        return str([round(float(c), 9) for c in back[:3, :3] @ place + back[:3, 3]])

    line = ", ".join(in_file(p) for p in found["feather_line"]["points"])
    marks = ("seat", "joint_medial", "joint_lateral", "centre_back_top")
    steps = [
        ("new", job, "--last", scan, "--size", size, "--foot", words["foot"],
         "--heel-height", words["heel"], "--unit", "mm"),
        *(("set", job, f"marks.{name}", in_file(found["marks"][name])) for name in marks),
        ("set", job, "marks.feather_line", f"[{line}]"),
        ("set", job, "last.pose", str(turn.tolist())),
        ("draft", job),
    ]
    for step in steps:
        done = featherline(*step)
        assert done.returncode == 0, done.stderr
    outlines = []
    for entity in ezdxf.readfile(job / "patterns" / "stiffener.dxf").modelspace():
        if entity.dxftype() == "POLYLINE" and entity.dxf.layer == "CUT" and entity.is_closed:
            points = []
            for part in entity.virtual_entities():
                if part.dxftype() == "LINE":
                    points += [part.dxf.start, part.dxf.end]
                else:
                    points += part.flattening(0.005)
            outlines.append(np.array([(p.x, p.y) for p in map(ezdxf.math.Vec3, points)]))
    return max(outlines, key=lambda points: Polygon(points).area)


def aligned(points, outline):
    """The points turned and moved so that they lie best on the outline."""
    ring = LineString(np.vstack([outline, outline[:1]]))

    def moved(by):
        c, s = np.cos(by[2]), np.sin(by[2])
        return points @ np.array([[c, s], [-s, c]]) + by[:2]

    best = least_squares(lambda by: shapely.distance(shapely.points(moved(by)), ring), [0, 0, 0])
    return moved(best.x)


@pytest.fixture(scope="module")
def outline(last, plain, featherline, tmp_path_factory):
    path, size, words = last
    return drafted(featherline, tmp_path_factory.mktemp("job") / "job", path, size, words, plain)


def test_the_piece_on_other_triangles(last, plain, outline, remeshed, featherline, tmp_path):
    """Marks, line and pose held: the outline moves by 0.1 mm at most."""
    _, size, words = last
    other = drafted(featherline, tmp_path / "job", remeshed, size, words, plain)
    assert lines_apart(aligned(other, outline), outline) <= 0.1
