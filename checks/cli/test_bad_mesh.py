"""Damaged, mistaken and malicious mesh files: each is refused, saying where and what mends it."""

import struct

import numpy as np
import pytest
import trimesh

STL_HEADER = b"\0" * 80
# Four thousand million: near the largest count that the header of a binary STL can hold.
PROMISED = 4_000_000_000

PLY_VERTICES = "property float x\nproperty float y\nproperty float z\n"
PLY_FACES = "property list uchar int vertex_indices\nend_header\n"


def triangle(*corners):
    return struct.pack("<12fH", 0, 0, 0, *np.ravel(corners), 0)


def stl(promised, *triangles):
    return STL_HEADER + struct.pack("<I", promised) + b"".join(triangles)


def ply(vertices, faces, body, form="ascii"):
    header = (
        f"ply\nformat {form} 1.0\nelement vertex {vertices}\n{PLY_VERTICES}"
        f"element face {faces}\n{PLY_FACES}"
    )
    return header.encode() + body


SOUND = triangle((0, 0, 0), (1, 0, 0), (0, 1, 0))
NAN = triangle((0, 0, 0), (float("nan"), 0, 0), (0, 1, 0))
INFINITE = triangle((0, 0, 0), (float("inf"), 0, 0), (0, 1, 0))
CORNERS = b"0 0 0\n1 0 0\n0 1 0\n"

# name: (bytes, what the message says beside the name of the file)
UNREADABLE = {
    "empty.stl": (b"", ["empty", "0 bytes", "export"]),
    "empty.obj": (b"", ["empty", "0 bytes", "export"]),
    "short.stl": (b"\0\1\2" * 9, ["27 bytes", "too few", "84", "copy or export it again"]),
    "cut.stl": (
        stl(100, *[SOUND] * 40),
        ["cut short", "byte 2084", "100 triangles", "40 are present", "copy or export it again"],
    ),
    "cut-text.stl": (
        b"solid x\nfacet normal 0 0 1\nouter loop\nvertex 0 0 0\nvertex 1 0",
        ["line 5", "ends inside", "copy or export it again"],
    ),
    "letter.stl": (
        b"solid ground, dear aunt, is what a workshop needs.\nYours, a niece.\n",
        ["line ", "facet", "export again as binary STL"],
    ),
    "note.stl": (b"This is an STL, honestly.\n", ["line 1", "facet", "binary STL"]),
    "letter.docx": (b"PK\3\4" + bytes(range(256)) * 9, ["not an STL", "export", "binary STL"]),
    "nan.stl": (
        stl(3, SOUND, NAN, SOUND),
        ["triangle 2", "byte 134", "not a finite number", "repair"],
    ),
    "infinite.stl": (stl(2, SOUND, INFINITE), ["triangle 2", "not a finite number", "repair"]),
    "nan.obj": (
        b"v 0 0 0\nv 1 nan 0\nv 0 1 0\nf 1 2 3\n",
        ["line 2", "not a finite number", "repair"],
    ),
    "nan.ply": (ply(3, 1, b"0 0 0\nnan 0 0\n0 1 0\n3 0 1 2\n"), ["line 11", "finite", "repair"]),
    "index.obj": (
        b"v 0 0 0\nv 1 0 0\nv 0 1 0\nf 1 2 9\n",
        ["line 4", "vertex 9", "3 vertices", "counted from 1", "export it again"],
    ),
    "index-zero.obj": (
        b"v 0 0 0\nv 1 0 0\nv 0 1 0\nf 0 1 2\n",
        ["line 4", "vertex 0", "counted from 1", "export it again"],
    ),
    "index.ply": (
        ply(3, 1, CORNERS + b"3 0 1 7\n"),
        ["line 13", "vertex 7", "3 vertices", "counted from 0", "export it again"],
    ),
    "index-minus.ply": (
        ply(3, 1, CORNERS + b"3 0 1 -1\n"),
        ["line 13", "vertex -1", "counted from 0", "export it again"],
    ),
    "none.stl": (stl(0), ["no triangles", "export again"]),
    "points.obj": (b"v 0 0 0\nv 1 0 0\nv 0 1 0\n", ["no triangles", "3 points", "export again"]),
    "points.ply": (ply(3, 0, CORNERS), ["no triangles", "3 points", "export again"]),
    "huge.stl": (
        stl(PROMISED, *[SOUND] * 10),
        ["cut short", str(PROMISED), "10 are present", "copy or export it again"],
    ),
    "huge-points.ply": (
        ply(PROMISED, 1, b"\0" * 1000, "binary_little_endian"),
        ["line 3", str(PROMISED), "1000 bytes", "copy or export it again"],
    ),
    "huge-faces.ply": (
        ply(3, PROMISED, b"\0" * 1000, "binary_big_endian"),
        ["line 7", str(PROMISED), "bytes are left", "copy or export it again"],
    ),
    "huge-text.ply": (
        ply(PROMISED, PROMISED, CORNERS),
        [str(PROMISED), "copy or export it again"],
    ),
    "huge-list.ply": (
        ply(3, 1, b"\0" * 36 + b"\xff\xff\xff\x7f", "binary_little_endian").replace(
            b"list uchar", b"list int"
        ),
        ['"face" 0', "copy or export it again"],
    ),
}


@pytest.mark.parametrize("name", UNREADABLE)
def test_what_cannot_be_read_makes_no_job(bench, name):
    content, says = UNREADABLE[name]
    (bench / name).write_bytes(content)
    bench.refused("new", "job", "--last", name, "--size", "EU 39", says=[name, *says])
    assert not (bench / "job").exists()


@pytest.mark.parametrize("name", UNREADABLE)
def test_what_cannot_be_read_is_not_flattened(bench, name):
    content, says = UNREADABLE[name]
    (bench / name).write_bytes(content)
    (bench / "flat.obj").write_text("kept from yesterday\n")
    bench.refused("flatten", name, "--out", "flat.obj", says=[name, *says])


@pytest.mark.parametrize("name", ["cut.stl", "nan.stl", "huge.stl", "none.stl", "letter.stl"])
@pytest.mark.parametrize("command", ["draft", "check"])
def test_a_scan_that_was_damaged_in_the_job(bench, job, command, name):
    """The patterns of yesterday stay as they are."""
    bench.done("draft", "job")
    content, says = UNREADABLE[name]
    (job / "last.stl").write_bytes(content)
    bench.refused(command, "job", says=["job/last.stl", *says])


def as_stl(mesh):
    return mesh.export(file_type="stl")


def sound_last(demo_last):
    return trimesh.load(trimesh.util.wrap_as_stream(demo_last), file_type="stl")


def plate(_):
    """As long and wide as a last, 2 mm thick."""
    return trimesh.creation.box((260, 90, 2)).subdivide().subdivide().subdivide()


def rod(_):
    return trimesh.creation.cylinder(radius=4, height=260, sections=60).subdivide().subdivide()


def pair(demo_last):
    """A left and a right last side by side, as a pair is often scanned."""
    one = sound_last(demo_last)
    other = one.copy()
    other.apply_transform(np.diag([1, -1, 1, 1]))
    other.apply_translation([0, 200, 0])
    return trimesh.util.concatenate([one, other])


def ten_metres(demo_last):
    last = sound_last(demo_last)
    last.apply_scale(10_000 / np.ptp(last.bounds, axis=0).max())
    return last


def a_hundredth_of_a_millimetre(demo_last):
    last = sound_last(demo_last)
    last.apply_scale(0.01 / np.ptp(last.bounds, axis=0).max())
    return last


# name: (mesh, what the message says)
NO_LAST = {
    "plate.stl": (plate, ["not shaped like a last", "260 x 90 x 2 mm", "plate"]),
    "rod.stl": (rod, ["not shaped like a last", "rod", "choose another file"]),
    "pair.stl": (pair, ["two lasts in one file", "keep one", "delete"]),
    "ten-metres.stl": (ten_metres, ["units long", "100 to 380 mm", "scale it"]),
    "speck.stl": (a_hundredth_of_a_millimetre, ["units long", "100 to 380 mm", "scale it"]),
}


@pytest.mark.parametrize("name", NO_LAST)
def test_a_sound_mesh_that_is_no_last(bench, demo_last, name):
    """Refused by `new`, or at the latest by every command that needs the last."""
    mesh, says = NO_LAST[name]
    (bench / name).write_bytes(as_stl(mesh(demo_last)))
    call = ["new", "job", "--last", name, "--size", "EU 39"]
    if bench.run(*call).returncode != 0:
        bench.refused(*call, says=[name, *says])
        assert not (bench / "job").exists()
        return
    for command in ("check", "draft"):
        bench.refused(command, "job", says=["job/last.stl", *says])
    bench.refused("draft", "job", "--out", "patterns-here", says=["job/last.stl", *says])


def test_every_format_that_the_help_names_is_read(bench, demo_last):
    """The line of `--last` in the help of `new`, against files written by trimesh."""
    line = next(l for l in bench.done("new", "--help").splitlines() if "The scan of the last" in l)
    named = [ending for ending in ("STL", "OBJ", "PLY", "3MF") if ending in line]
    assert {"STL", "OBJ", "PLY"} <= set(named)
    for ending in named:
        name = f"last.{ending.lower()}"
        sound_last(demo_last).export(bench / name)
        bench.done("new", f"from-{ending}", "--last", name, "--size", "EU 39")
        bench.done("check", f"from-{ending}")


def test_a_last_that_contradicts_its_settings_is_told(bench, job):
    """EU 48 on a last of EU 39, and the wrong foot: warned of, and in the report itself."""
    bench.done("set", "job", "last.size", "EU 48")
    bench.done("set", "job", "last.foot", "left")
    result = bench.run("check", "job", "--json")
    for words in ["320 mm", "check the size", "not left", "check the foot"]:
        assert words in result.stderr
    assert "check the size" in result.stdout and "check the foot" in result.stdout
