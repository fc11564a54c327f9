"""Numbers and files that cannot be right: not finite, out of range, far off, wrong scale, empty."""

import struct

import numpy as np
import trimesh

from broken_form import Broken, case, moved, whole


@case("not-a-number-in-obj", refused=["line 1000", "finite", "export again"], file="obj",
      value=np.nan)
@case("infinite-in-obj", refused=["line 1000", "finite", "export again"], file="obj", value=np.inf)
@case("not-a-number-in-ply", refused=["vertex 999", "finite", "export again"], value=np.nan)
@case("infinite-in-stl", refused=["triangle", "finite", "export again"], file="stl", value=np.inf)
@case("beyond-single-precision-in-stl", refused=["triangle", "finite", "export again"],
      file="stl", value=1e39)
def not_finite(last, draw, value):
    """One coordinate of one vertex."""
    vertices = last.vertices.copy()
    vertices[999, 1] = value
    return Broken(whole(vertices, last.faces))


@case("vertex-out-of-range-in-obj", refused=["line", "vertex", "named", "export it again"],
      file="obj", by=1)
@case("vertex-out-of-range-in-ply", refused=["face 700", "vertex", "named", "export it again"],
      by=1)
@case("negative-vertex-in-ply", refused=["face 700", "vertex", "named", "export it again"], by=-1)
def out_of_range(last, draw, by):
    """One triangle names a vertex past the last one, or before the first."""
    faces = last.faces.copy()
    faces[700, 1] = len(last.vertices) if by > 0 else -1
    mesh = trimesh.Trimesh(last.vertices, last.faces, process=False)
    broken = Broken(mesh)
    index = struct.pack("<i", last.faces[700, 1]), struct.pack("<i", faces[700, 1])

    def edit(data):
        if data.startswith(b"ply"):
            body = data.index(b"end_header\n") + 11 + 24 * len(last.vertices)
            at = body + 13 * 700 + 1 + 4
            assert data[at : at + 4] == index[0]
            return data[:at] + index[1] + data[at + 4 :]
        lines = data.split(b"\n")
        line = len(last.vertices) + 700
        first, _, *rest = lines[line].split()[1:]
        lines[line] = b" ".join([b"f", first, str(faces[700, 1] + 1).encode(), *rest])
        return b"\n".join(lines)

    broken.edit = edit
    return broken


@case("a-kilometre-off-in-single-precision", refused=["from the origin", "move it", "export it"],
      away=1e6, file="stl")
@case("a-kilometre-off-in-single-precision-ply",
      refused=["from the origin", "move it", "export it"], away=1e6, file="ply-single")
@case("a-kilometre-off-in-double-precision", harmless="a step there is a millionth of a micron",
      away=1e6)
@case("ten-metres-off-in-single-precision", harmless="a step there is a micron", away=1e4,
      file="ply-single")
def far_off(last, draw, away):
    frame = np.eye(4)
    frame[:3, 3] = [away, -away, away]
    return Broken(moved(last, frame[:3, 3]), frame=frame)


@case("thousandth", harmless="the file is in metres, and its unit is told as found", by=1e-3)
@case("thousandth-said-to-be-mm", refused=["0.2", "mm long", "at least 100 mm"], by=1e-3,
      options=["--unit", "mm"])
@case("thousandfold", refused=["unit", "scale"], by=1e3)
@case("thousandfold-said-to-be-mm", refused=["mm long", "at most 380 mm"], by=1e3,
      options=["--unit", "mm"])
@case("millionth", refused=["unit", "scale"], by=1e-6)
def scaled(last, draw, by):
    return Broken(whole(last.vertices * by, last.faces), frame=np.diag([by, by, by, 1]))


@case("flat-sheet", refused=["flat"], kind="sheet")
@case("fine-flat-sheet", refused=["flat"], kind="fine-sheet", unit="cm")
@case("one-triangle", refused=["flat"], kind="triangle", file="obj")
@case("all-triangles-on-one-line", refused=["no area", "export"], kind="line")
@case("a-ball", refused=["not shaped like a last"], kind="ball")
def no_last(last, draw, kind):
    """No last at all."""
    x, y = np.meshgrid(np.linspace(0, 260, 66), np.linspace(0, 90, 24))
    grid = np.c_[x.ravel(), y.ravel(), 0 * x.ravel()]
    k = (np.arange(23)[:, None] * 66 + np.arange(65)).ravel()
    cells = np.vstack([np.c_[k, k + 1, k + 67], np.c_[k, k + 67, k + 66]])
    corners = [[0, 0, 0], [260, 0, 0], [260, 90, 0], [0, 90, 0]]
    line = np.linspace(0, 260, 100)
    mesh = {
        "sheet": lambda: whole(corners, [[0, 1, 2], [0, 2, 3]]),
        "fine-sheet": lambda: whole(grid, cells),
        "triangle": lambda: whole(corners[:3], [[0, 1, 2]]),
        "line": lambda: whole(np.c_[line, line, line], np.arange(99).reshape(-1, 3)),
        "ball": lambda: trimesh.creation.icosphere(4, 120),
    }[kind]()
    return Broken(mesh)


@case("empty-file", refused=["empty", "export"], kind="empty")
@case("empty-stl", refused=["no triangles", "export"], kind="nothing", file="stl")
@case("points-without-triangles", refused=["no triangles", "surface"], kind="points", file="obj")
@case("cut-short-stl", refused=["cut short", "byte", "export"], kind="short", file="stl")
@case("cut-short-ply", refused=["promised", "cut short", "export"], kind="short")
@case("cut-short-obj", refused=["line", "ends inside", "export"], kind="short-text", file="obj")
def bad_file(last, draw, kind):
    edit = {
        "empty": lambda data: b"",
        "nothing": lambda data: data[:80] + bytes(4),
        "points": lambda data: data[: data.index(b"\nf ") + 1],
        "short": lambda data: data[: len(data) // 3 - 5],
        # Inside the last triangle but one thousand.
        "short-text": lambda data: b"\n".join(data.split(b"\n")[:-1000]).rpartition(b" ")[0],
    }[kind]
    return Broken(last, edit=edit)
