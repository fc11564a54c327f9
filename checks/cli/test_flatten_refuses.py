"""Surfaces that are not one disk cannot be laid flat: what is wrong, where, and what mends it."""

import numpy as np
import pytest
import trimesh


def obj(corners, triangles):
    lines = [f"v {x} {y} {z}" for x, y, z in corners]
    lines += ["f " + " ".join(str(i + 1) for i in t) for t in triangles]
    return "\n".join(lines) + "\n"


def exported(mesh):
    return mesh.export(file_type="obj", include_normals=False)


def tube():
    mesh = trimesh.creation.cylinder(radius=30, height=60, sections=40)
    mesh.update_faces(np.abs(mesh.face_normals[:, 2]) < 0.5)
    mesh.remove_unreferenced_vertices()
    return mesh


def torus_with_a_hole():
    mesh = trimesh.creation.torus(60, 20)
    mesh.update_faces(np.arange(len(mesh.faces)) > 0)
    return mesh


SQUARE = [(0, 0, 0), (40, 0, 0), (40, 40, 0), (0, 40, 0)]
AWAY = [(x + 100, y, z) for x, y, z in SQUARE]
HALVES = [(0, 1, 2), (0, 2, 3)]

REFUSED = {
    "closed": (exported(trimesh.creation.icosphere(3, 50)), ["closed", "cut it open"]),
    "tube": (exported(tube()), ["two boundary loops", "cut it open"]),
    "two pieces": (
        obj(SQUARE + AWAY, HALVES + [(4, 5, 6), (4, 6, 7)]),
        ["2 pieces", "one at a time"],
    ),
    "handle": (exported(torus_with_a_hole()), ["handle", "cut it open"]),
    "no area": (
        obj(SQUARE + [(80, 0, 0)], HALVES + [(0, 4, 1)]),
        ["triangle 2", "no area", "remove or repair"],
    ),
    "one corner twice": (obj(SQUARE, HALVES + [(0, 0, 1)]), ["edge between vertices 0 and 1"]),
    "three on one edge": (
        obj(SQUARE + [(20, 20, 30)], HALVES + [(0, 2, 4)]),
        ["edge between vertices 0 and 2", "branches"],
    ),
    "half turned over": (
        obj(SQUARE, [(0, 1, 2), (0, 3, 2)]),
        ["edge between vertices", "inverted"],
    ),
    "bow tie": (
        obj(SQUARE + [(-40, 0, 0), (-40, -40, 0)], HALVES + [(0, 4, 5)]),
        ["touches itself", "vertex 0"],
    ),
    "loose vertex": (obj(SQUARE + [(9, 9, 9)], HALVES), ["vertex 4", "no triangle", "remove"]),
}


@pytest.mark.parametrize("name", REFUSED)
def test_what_is_no_disk_is_refused(bench, name):
    text, says = REFUSED[name]
    (bench / "wall.obj").write_text(text)
    bench.refused("flatten", "wall.obj", "--out", "flat.obj", says=["wall.obj", *says])
    assert not (bench / "flat.obj").exists()
    (bench / "flat.obj").write_text("kept from yesterday\n")
    bench.refused("flatten", "wall.obj", "--out", "flat.obj", says=["wall.obj", *says])


def test_the_sound_disk_is_not(bench):
    """The same square without a fault: so it is the fault that is refused."""
    (bench / "wall.obj").write_text(obj(SQUARE, HALVES))
    bench.done("flatten", "wall.obj", "--out", "flat.obj")
    flat = trimesh.load(bench / "flat.obj", process=False)
    assert flat.area == pytest.approx(1600, rel=1e-9)


def test_numbers_in_messages_count_as_the_file_does(bench):
    """OBJ counts vertices from 1: a message about the file says so, or counts alike."""
    text, _ = REFUSED["loose vertex"]
    (bench / "wall.obj").write_text(text)
    message = bench.run("flatten", "wall.obj", "--out", "flat.obj").stderr
    assert "vertex 5" in message or "from 0" in message, message
