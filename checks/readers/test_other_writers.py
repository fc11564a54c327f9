"""PLY, OBJ and STL as meshio and numpy-stl write them, and as trimesh does with colours: the
triangles that we read are those that were written."""

import meshio
import numpy as np
import pytest
import stl
import trimesh
from forms import last_like, open_topped, triangle_set


@pytest.fixture
def triangles_of(mesh_info, tmp_path):
    def read(file):
        info = mesh_info(file, "--write", tmp_path / "ours.ply")
        assert info["warnings"] == [] and info["unit"] is None
        return triangle_set(trimesh.load(tmp_path / "ours.ply", process=False).triangles)

    return read


@pytest.mark.parametrize("make", [last_like, open_topped])
@pytest.mark.parametrize(
    "ending, options",
    [("ply", {"binary": True}), ("ply", {"binary": False}), ("obj", {}), ("stl", {"binary": True})],
)
def test_what_meshio_writes(triangles_of, tmp_path, make, ending, options):
    mesh = make(3)
    points = np.float32(mesh.vertices).astype(float)
    file = tmp_path / f"mesh.{ending}"
    meshio.Mesh(points, [("triangle", mesh.faces)]).write(file, **options)
    got, expected = triangles_of(file), triangle_set(points[mesh.faces])
    # Its writer of OBJ keeps as many digits as Python prints; that of PLY and STL the f32 whole.
    np.testing.assert_array_equal(got, expected)


@pytest.mark.parametrize("mode", ["BINARY", "ASCII"])
def test_what_numpy_stl_writes(triangles_of, tmp_path, mode):
    mesh = last_like(3)
    data = np.zeros(len(mesh.faces), dtype=stl.mesh.Mesh.dtype)
    data["vectors"] = mesh.triangles
    data["attr"] = 0x83E0
    file = tmp_path / "mesh.stl"
    made = stl.mesh.Mesh(data)
    made.save(str(file), mode=getattr(stl.Mode, mode))
    # In text it writes as many digits as lead back to the same f32, or fewer.
    expected = triangle_set(np.float32(mesh.triangles).astype(float))
    np.testing.assert_allclose(
        triangles_of(file), expected, rtol=0, atol=0 if mode == "BINARY" else 1e-3
    )


@pytest.mark.parametrize("kind", ["vertex", "face"])
@pytest.mark.parametrize("ending, options", [("ply", {}), ("ply", {"encoding": "ascii"}), ("obj", {"digits": 17})])
def test_colours_of_trimesh_change_nothing(triangles_of, tmp_path, kind, ending, options):
    mesh = last_like(3)
    mesh.vertices = np.float32(mesh.vertices).astype(float)
    plain, coloured = tmp_path / f"plain.{ending}", tmp_path / f"coloured.{ending}"
    mesh.export(plain, **options)
    dice = np.random.default_rng(3)
    if kind == "vertex":
        mesh.visual.vertex_colors = dice.integers(0, 255, (len(mesh.vertices), 4), dtype=np.uint8)
    else:
        mesh.visual.face_colors = dice.integers(0, 255, (len(mesh.faces), 4), dtype=np.uint8)
    mesh.export(coloured, **options)
    if (kind, ending) != ("face", "obj"):
        assert plain.read_bytes() != coloured.read_bytes()
    np.testing.assert_array_equal(triangles_of(coloured), triangles_of(plain))


def test_strips_written_from_their_description(triangles_of, tmp_path):
    """A tube as one row of strips, -1 between them, in binary, as in public scans."""
    around, along = 24, 10
    angle, height = np.meshgrid(2 * np.pi * np.arange(around) / around, np.arange(along + 1.0))
    points = np.column_stack([np.cos(angle).ravel(), np.sin(angle).ravel(), height.ravel()])
    points = np.float32(points)
    strips, faces = [], []
    for row in range(along):
        ring = np.arange(around + 1) % around + row * around
        strip = np.column_stack([ring + around, ring]).ravel()
        strips += [*strip, -1]
        faces += [
            strip[i : i + 3] if i % 2 == 0 else strip[[i + 1, i, i + 2]]
            for i in range(len(strip) - 2)
        ]
    header = (
        f"ply\nformat binary_big_endian 1.0\nelement vertex {len(points)}\n"
        "property float x\nproperty float y\nproperty float z\nelement tristrips 1\n"
        "property list int int vertex_indices\nend_header\n"
    )
    file = tmp_path / "tube.ply"
    body = points.astype(">f4").tobytes() + np.array([len(strips), *strips], ">i4").tobytes()
    file.write_bytes(header.encode() + body)
    tube = trimesh.Trimesh(points.astype(float), faces, process=False)
    assert tube.is_winding_consistent and len(tube.faces) == 2 * around * along
    # Outward: away from the axis.
    assert (np.einsum("ij,ij->i", tube.face_normals[:, :2], tube.triangles_center[:, :2]) > 0).all()
    np.testing.assert_array_equal(triangles_of(file), triangle_set(tube.triangles))
