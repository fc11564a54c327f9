"""3MF, written by trimesh and by the consortium's own lib3mf: the triangles that we read are
those that were written, and those that trimesh reads."""

import zipfile

import lib3mf
import numpy as np
import pytest
import trimesh
from forms import last_like, open_topped, triangle_set


@pytest.fixture
def ours(mesh_info, tmp_path):
    """Reads a file by our reader: what mesh_info says, and the triangles."""

    def read(file):
        out = tmp_path / "ours.ply"
        info = mesh_info(file, "--write", out)
        return info, np.asarray(trimesh.load(out, process=False).triangles)

    return read


def by_trimesh(file):
    return np.asarray(trimesh.load(file, process=False).to_mesh().triangles)


def assert_equal(triangles, expected, atol=0.0):
    np.testing.assert_allclose(triangle_set(triangles), triangle_set(expected), rtol=0, atol=atol)


@pytest.mark.parametrize("make", [last_like, open_topped])
def test_what_trimesh_writes(ours, tmp_path, make):
    mesh = make()
    file = tmp_path / "mesh.3mf"
    mesh.export(file)
    info, triangles = ours(file)
    assert info["warnings"] == [] and info["unit"] == "mm"
    # trimesh writes a few decimals less than an f64 has.
    assert_equal(triangles, mesh.triangles, atol=1e-6)
    assert_equal(triangles, by_trimesh(file))


def test_a_scene_of_trimesh_with_moved_and_mirrored_copies(ours, tmp_path):
    brick = trimesh.creation.box((30, 20, 10))
    turn = trimesh.transformations.rotation_matrix(0.7, [1, 2, 3], [5, 6, 7])
    scene = trimesh.Scene()
    scene.add_geometry(brick, geom_name="brick", node_name="one")
    scene.add_geometry(brick, geom_name="brick", node_name="two", transform=turn)
    file = tmp_path / "scene.3mf"
    scene.export(file)
    info, triangles = ours(file)
    assert len(triangles) == 24
    expected = np.concatenate([brick.triangles, brick.copy().apply_transform(turn).triangles])
    assert_equal(triangles, expected, atol=1e-6)
    assert info["volume"] == pytest.approx(2 * brick.volume)


WRAPPER = lib3mf.get_wrapper()
UNITS = {
    "MicroMeter": ("mm", 0.001),
    "MilliMeter": ("mm", 1),
    "CentiMeter": ("cm", 1),
    "Inch": ("in", 1),
    "Foot": ("mm", 304.8),
    "Meter": ("m", 1),
}


def mesh_object(model, mesh):
    made = model.AddMeshObject()
    points = [lib3mf.Position((lib3mf.ctypes.c_float * 3)(*p)) for p in mesh.vertices]
    faces = [lib3mf.Triangle((lib3mf.ctypes.c_uint32 * 3)(*map(int, f))) for f in mesh.faces]
    made.SetGeometry(points, faces)
    return made


def transform(matrix):
    """lib3mf's transform from a 4 x 4 matrix for columns."""
    made = WRAPPER.GetIdentityTransform()
    for i in range(4):
        for j in range(3):
            made.Fields[i][j] = matrix[j][i]
    return made


def write(model, file):
    model.QueryWriter("3mf").WriteToFile(str(file))


@pytest.mark.parametrize("unit", UNITS)
def test_what_lib3mf_writes_in_each_unit(ours, tmp_path, unit):
    mesh = last_like(3)
    model = WRAPPER.CreateModel()
    model.SetUnit(getattr(lib3mf.ModelUnit, unit))
    model.AddBuildItem(mesh_object(model, mesh), WRAPPER.GetIdentityTransform())
    file = tmp_path / "mesh.3mf"
    write(model, file)
    info, triangles = ours(file)
    name, factor = UNITS[unit]
    assert info["unit"] == name and info["warnings"] == []
    assert_equal(triangles, factor * np.float32(mesh.triangles).astype(float), atol=factor * 2e-5)
    # lib3mf writes decimals; what stands in the file is read by trimesh to the same.
    assert_equal(triangles, factor * by_trimesh(file), atol=factor * 1e-12)


def test_nested_components_and_mirrors_of_lib3mf(ours, tmp_path):
    brick = trimesh.creation.box((30, 20, 10))
    turn = trimesh.transformations.rotation_matrix(0.7, [1, 2, 3], [5, 6, 7])
    mirror = np.diag([1.0, -1.0, 1.0, 1.0])
    model = WRAPPER.CreateModel()
    group, outer = model.AddComponentsObject(), model.AddComponentsObject()
    made = mesh_object(model, brick)
    group.AddComponent(made, transform(turn))
    group.AddComponent(made, transform(mirror))
    outer.AddComponent(group, transform(turn))
    model.AddBuildItem(outer, transform(mirror))
    model.AddBuildItem(made, WRAPPER.GetIdentityTransform())
    file = tmp_path / "nested.3mf"
    write(model, file)
    info, triangles = ours(file)

    def placed(*matrices):
        matrix = np.linalg.multi_dot([np.eye(4), *matrices])
        corners = trimesh.transform_points(brick.triangles.reshape(-1, 3), matrix)
        corners = corners.reshape(-1, 3, 3)
        return corners[:, ::-1] if np.linalg.det(matrix) < 0 else corners

    expected = [placed(mirror, turn, turn), placed(mirror, turn, mirror), brick.triangles]
    # lib3mf keeps transforms as f32.
    got, wanted = triangle_middles(triangles), triangle_middles(np.concatenate(expected))
    np.testing.assert_allclose(got, wanted, atol=1e-4)
    assert info["volume"] == pytest.approx(3 * brick.volume, rel=1e-6)


def triangle_middles(triangles):
    """Middles and unit normals, in an order that rounding does not change."""
    middles = triangles.mean(axis=1)
    normals = np.cross(triangles[:, 1] - triangles[:, 0], triangles[:, 2] - triangles[:, 0])
    normals /= np.linalg.norm(normals, axis=1, keepdims=True)
    rows = np.hstack([middles, normals])
    return rows[np.lexsort(np.round(rows, 2).T)]


def test_colours_of_lib3mf_change_nothing(ours, tmp_path):
    mesh = last_like(2)
    model = WRAPPER.CreateModel()
    made = mesh_object(model, mesh)
    colours = model.AddColorGroup()
    red = colours.AddColor(WRAPPER.RGBAToColor(255, 0, 0, 255))
    made.SetObjectLevelProperty(colours.GetResourceID(), red)
    model.AddBuildItem(made, WRAPPER.GetIdentityTransform())
    write(model, tmp_path / "coloured.3mf")
    info, triangles = ours(tmp_path / "coloured.3mf")
    assert info["warnings"] == []
    assert_equal(triangles, np.float32(mesh.triangles).astype(float), atol=2e-5)


def test_a_million_triangles(mesh_info, tmp_path):
    mesh = trimesh.creation.icosphere(subdivisions=8, radius=100)
    lines = [f'<vertex x="{x:.6f}" y="{y:.6f}" z="{z:.6f}"/>' for x, y, z in mesh.vertices]
    faces = [f'<triangle v1="{a}" v2="{b}" v3="{c}"/>' for a, b, c in mesh.faces]
    space = "http://schemas.microsoft.com/3dmanufacturing/core/2015/02"
    xml = (
        f'<model unit="millimeter" xmlns="{space}"><resources><object id="1"><mesh><vertices>'
        + "".join(lines) + "</vertices><triangles>" + "".join(faces)
        + '</triangles></mesh></object></resources><build><item objectid="1"/></build></model>'
    )
    with zipfile.ZipFile(tmp_path / "large.3mf", "w", zipfile.ZIP_DEFLATED, compresslevel=1) as z:
        z.writestr("3D/3dmodel.model", xml)
    info = mesh_info(tmp_path / "large.3mf")
    assert info["triangles"] == len(mesh.faces) and info["vertices"] == len(mesh.vertices)


def test_a_job_keeps_the_unit_that_the_file_states(featherline, featherline_json, tmp_path):
    assert featherline("demo", tmp_path / "demo").returncode == 0
    mesh = trimesh.load(next((tmp_path / "demo").glob("last.*")))
    mesh.apply_scale(1 / 25.4)
    model = WRAPPER.CreateModel()
    model.SetUnit(lib3mf.ModelUnit.Inch)
    model.AddBuildItem(mesh_object(model, mesh), WRAPPER.GetIdentityTransform())
    write(model, tmp_path / "inches.3mf")
    options = ["--last", tmp_path / "inches.3mf", "--size", "EU 39"]
    made = featherline("new", tmp_path / "job", *options)
    assert made.returncode == 0, made.stderr
    assert "its file states the unit in" in made.stdout
    assert (tmp_path / "job" / "last.3mf").exists()
    assert 'unit = "in"' in (tmp_path / "job" / "job.toml").read_text()
    given = featherline("new", tmp_path / "other", *options, "--unit", "mm")
    assert given.returncode != 0 and "inches.3mf" in given.stderr
    assert featherline_json("new", tmp_path / "third", *options)["unit"] == "in"
