"""What the ways of breaking a last share: where its parts are, cutting, adding, and the files."""

import dataclasses
import io
import struct
import zlib
from typing import Callable

import numpy as np
import trimesh

# One unit of the file in mm.
UNITS = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": 25.4}

# Places on the last that is broken (sll=260 heel=25), right foot, mm in its own frame: origin at
# the seat, x to the toe, y to the inside, z up. The nearest point of the surface is meant.
SITES = {
    "heel": (-6, 0, 30),
    "seat": (0, 0, 0),
    "seat-sole": (25, 0, -1),
    "heel-side": (30, -29, 25),
    "waist-outside": (100, -33, 15),
    "waist-inside": (100, 33, 20),
    "edge-inside": (80, 26, -5),
    "edge-outside": (80, -27, -5),
    "instep": (130, 3, 51),
    "vamp": (190, 5, 20),
    "toe": (253, 9, -8),
    "shank": (90, 0, -8),
    "tread": (174, 0, -25),
    "top": (45, 0, 77),
}


def site(mesh, name):
    """The vertex of the mesh nearest to a place by name, and its outward normal."""
    near = np.linalg.norm(mesh.vertices - SITES[name], axis=1).argmin()
    return mesh.vertices[near].copy(), mesh.vertex_normals[near].copy()


def whole(vertices, faces):
    """A mesh exactly as given."""
    return trimesh.Trimesh(np.asarray(vertices, float), np.asarray(faces), process=False)


def within(mesh, middle, radius):
    """Which triangles have their middle within the radius of a place."""
    return np.linalg.norm(mesh.triangles_center - middle, axis=1) < radius


def without(mesh, gone):
    """The mesh without some triangles, and without the vertices only they used."""
    kept = whole(mesh.vertices, mesh.faces[~gone])
    kept.remove_unreferenced_vertices()
    return kept


def together(*meshes):
    """All triangles of the meshes, none joined."""
    starts = np.cumsum([0] + [len(m.vertices) for m in meshes])
    faces = [m.faces + start for m, start in zip(meshes, starts)]
    return whole(np.vstack([m.vertices for m in meshes]), np.vstack(faces))


def moved(mesh, by):
    return whole(mesh.vertices + by, mesh.faces)


def turned_over(mesh, which=None):
    """Some triangles (all, if not said) facing the other way."""
    faces = mesh.faces.copy()
    which = np.ones(len(faces), bool) if which is None else which
    faces[which] = faces[which][:, ::-1]
    return whole(mesh.vertices, faces)


def is_top(mesh):
    """The triangles of the flat top."""
    high = mesh.vertices[:, 2].max()
    near = (mesh.triangles[:, :, 2] > high - 0.6).all(axis=1)
    return near & (mesh.face_normals[:, 2] > 0.9)


@dataclasses.dataclass
class Broken:
    """A broken last. `places`: where, in the frame of the mesh; None where it is everywhere.

    `reach`: how far from these a repair may be named, mm. `changed`: how far from these the
    surface of the last may differ, if not as far. `edit` changes the bytes of the file.
    """

    mesh: trimesh.Trimesh
    places: list | None = None
    reach: float = 5.0
    changed: float | None = None
    # Where the mesh is not in the frame of the last: from that to it.
    frame: np.ndarray = dataclasses.field(default_factory=lambda: np.eye(4))
    edit: Callable[[bytes], bytes] | None = None


@dataclasses.dataclass(frozen=True)
class Case:
    """One way of breaking, how it is written, and what must come of it."""

    name: str
    way: Callable
    how: dict
    # The kinds of repair that must be named: these, and of `also` any.
    repaired: frozenset
    also: frozenset
    # Words that must stand in the warnings.
    warned: tuple
    # Words that must stand in the refusal; empty where it is not refused.
    refused: tuple
    # Why it is no damage, where nothing need be said.
    harmless: str
    noise: float
    unit: str
    file: str
    foot: str
    options: tuple
    openings: int

    @property
    def seed(self):
        return zlib.crc32(self.name.encode())

    def pose(self):
        """file_from_last: a turn and a shift drawn from the name, the unit, and the foot."""
        draw = np.random.default_rng(self.seed)
        matrix = trimesh.transformations.random_rotation_matrix(draw.random(3))
        matrix[:3, 3] = draw.normal(size=3) * 200
        matrix[:3] /= UNITS[self.unit]
        # A left last is a right one in a mirror.
        return matrix if self.foot == "right" else matrix @ np.diag([1.0, -1.0, 1.0, 1.0])

    def broken(self, last):
        """The last, with the noise of a scanner on it, broken."""
        draw = np.random.default_rng(self.seed + 1)
        return self.way(noisy(last, self.noise), draw, **self.how)

    def bytes(self, broken):
        """The file."""
        matrix = self.pose()
        vertices = broken.mesh.vertices @ matrix[:3, :3].T + matrix[:3, 3]
        faces = broken.mesh.faces if self.foot == "right" else broken.mesh.faces[:, ::-1]
        data = WRITERS[self.file](vertices, faces)
        return broken.edit(data) if broken.edit else data

    @property
    def file_name(self):
        return f"{self.name}.{self.file.split('-')[0]}"

    @property
    def expected(self):
        """What must come of it, in words."""
        if self.refused:
            return "refused: " + ", ".join(self.refused)
        if self.harmless:
            return "harmless: " + self.harmless
        return "repaired: " + ", ".join(sorted(self.repaired) + list(self.warned))


CASES = []


def case(
    name,
    *repaired,
    also=(),
    warned=(),
    refused=(),
    harmless="",
    noise=0.0,
    unit="mm",
    file="ply",
    foot="right",
    options=(),
    openings=0,
    **how,
):
    """Files the function below as a way of breaking; `how` are its arguments."""
    assert repaired or warned or refused or harmless, name
    assert name not in [other.name for other in CASES], name

    def add(way):
        kinds = frozenset(repaired), frozenset(also)
        rest = (tuple(warned), tuple(refused), harmless, noise, unit, file, foot)
        CASES.append(Case(name, way, how, *kinds, *rest, tuple(options), openings))
        return way

    return add


def noisy(mesh, distance, seed=5):
    """Every vertex displaced by `distance`, root mean square."""
    draw = np.random.default_rng(seed)
    shift = draw.normal(size=mesh.vertices.shape) * distance / np.sqrt(3)
    return whole(mesh.vertices + shift, mesh.faces)


def as_ply(vertices, faces, kind="d"):
    """Binary PLY in double precision, or single for `kind` "f"."""
    out = io.BytesIO()
    word = {"d": "double", "f": "float"}[kind]
    out.write(b"ply\nformat binary_little_endian 1.0\n")
    out.write(f"element vertex {len(vertices)}\n".encode())
    out.write("".join(f"property {word} {axis}\n" for axis in "xyz").encode())
    out.write(f"element face {len(faces)}\nproperty list uchar int vertex_indices\n".encode())
    out.write(b"end_header\n")
    out.write(np.asarray(vertices).astype("<f8" if kind == "d" else "<f4").tobytes())
    rows = np.empty(len(faces), dtype=[("n", "u1"), ("v", "<i4", 3)])
    rows["n"], rows["v"] = 3, faces
    out.write(rows.tobytes())
    return out.getvalue()


def as_obj(vertices, faces):
    lines = [f"v {x!r} {y!r} {z!r}" for x, y, z in np.asarray(vertices).tolist()]
    lines += [f"f {a} {b} {c}" for a, b, c in (np.asarray(faces) + 1).tolist()]
    return ("\n".join(lines) + "\n").encode()


def as_stl(vertices, faces):
    """Binary STL: loose triangles in single precision."""
    rows = np.zeros(len(faces), dtype=[("f", "<f4", (4, 3)), ("a", "<u2")])
    with np.errstate(over="ignore"):
        rows["f"][:, 1:] = np.asarray(vertices)[faces].astype("<f4")
    return b"invented".ljust(80) + struct.pack("<I", len(faces)) + rows.tobytes()


WRITERS = {
    "ply": as_ply,
    "ply-single": lambda vertices, faces: as_ply(vertices, faces, "f"),
    "obj": as_obj,
    "stl": as_stl,
}
