"""What a last stood on is cut off, and nothing is ever cut off a last that stands free."""

import igl
import numpy as np
import pytest
import trimesh

from standing import noisy, posed, sheeted, stood


def kinds(info):
    return [repair["kind"] for repair in info["repairs"]]


def distance(points, mesh):
    """How far each point is from the mesh, by libigl."""
    squared = igl.point_mesh_squared_distance(
        np.asarray(points, float), np.asarray(mesh.vertices), np.asarray(mesh.faces)
    )[0]
    return np.sqrt(squared)


SIXTY = [
    (foot, 200 + 10 * (i % 10), heel, radius, top)
    for i, (foot, heel, radius, top) in enumerate(
        (foot, heel, radius, top)
        for foot in ("right", "left")
        for heel in (5, 10, 25, 50, 60)
        for radius in (0, 3, 6)
        for top in ("closed", "open")
    )
]


@pytest.mark.parametrize("foot, sll, heel, radius, top", SIXTY)
def test_a_last_without_a_base_is_never_cut(build, clean, tmp_path, foot, sll, heel, radius, top):
    mesh = build(f"sll={sll}", f"heel={heel}", f"radius={radius}", f"foot={foot}", "edge=4")
    if top == "open":
        flat = np.abs(mesh.triangles[:, :, 2] - mesh.bounds[1, 2]).max(axis=1) < 1e-6
        mesh.update_faces(~flat)
        mesh.remove_unreferenced_vertices()
    mesh, _ = posed(mesh, sll + heel)
    if radius == 3:
        mesh = noisy(mesh, 0.1)
    mesh.export(tmp_path / "last.ply")
    info, refused = clean(tmp_path / "last.ply", tmp_path / "out.ply")
    assert refused is None
    assert kinds(info) == []
    assert info["triangles"] == len(mesh.faces)


@pytest.mark.parametrize(
    "form",
    {
        "sphere": trimesh.creation.icosphere(4, 50),
        "box": trimesh.creation.box([260, 90, 70]),
        "cylinder": trimesh.creation.cylinder(50, 100),
        "torus": trimesh.creation.torus(60, 20),
        "capsule": trimesh.creation.capsule(60, 30),
    }.items(),
    ids=lambda item: item[0],
)
def test_a_plain_form_is_never_cut(clean, tmp_path, form):
    form[1].export(tmp_path / "form.ply")
    info, _ = clean(tmp_path / "form.ply", tmp_path / "out.ply")
    assert kinds(info) == []


PLATES = {
    "sheet": {"size": 400},
    "fine-sheet": {"size": 400, "edge": 4.0},
    "round-slab": {"size": 400, "thickness": 5, "round_plate": True},
    "thick-small-slab": {"size": 150, "thickness": 20, "round_plate": True},
    "large-thin-slab": {"size": 600, "thickness": 3, "edge": 5.0},
}


@pytest.mark.parametrize("upside_down", [True, False], ids=["on-its-top", "on-its-tread"])
@pytest.mark.parametrize("plate", PLATES)
@pytest.mark.parametrize("noise", [0.0, 0.1], ids=["exact", "noise"])
def test_a_plate_is_cut_off(last, clean, tmp_path, plate, upside_down, noise):
    body = stood(last, upside_down)
    whole, pose = posed(noisy(sheeted(body, **PLATES[plate]), noise), 7)
    whole.export(tmp_path / "scan.ply")
    info, refused = clean(tmp_path / "scan.ply", tmp_path / "out.ply")
    assert refused is None
    assert "base-cut" in kinds(info)
    # Nothing but the last is left, and all of the last but a slice of 0.3 + 0.4 % + noise.
    out = trimesh.load(tmp_path / "out.ply", process=False)
    out.apply_transform(np.linalg.inv(pose))
    assert distance(out.vertices, body).max() < 6 * noise + 1e-3
    height = body.vertices[:, 2]
    above = body.vertices[height > 2.0]
    assert distance(above, out).max() < 6 * noise + 1e-3
    assert out.bounds[0, 2] < 2.0


def test_a_bent_plate_is_cut_off(last, clean, tmp_path):
    whole = sheeted(stood(last, True), 400, edge=8.0)
    bend = np.where(whole.vertices[:, 2] < 0.31, (whole.vertices[:, 0] / 200) ** 2 * 0.3, 0)
    whole.vertices[:, 2] += bend
    noisy(whole, 0.1).export(tmp_path / "scan.ply")
    info, _ = clean(tmp_path / "scan.ply", tmp_path / "out.ply")
    assert "base-cut" in kinds(info)
    assert info["bounds"][0][2] > 0.5
