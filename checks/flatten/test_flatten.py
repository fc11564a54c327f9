"""`featherline flatten` against libigl, numpy, scipy and shapely."""

import json

import numpy as np
import pytest
import shapely
from shapely.geometry import Polygon

import energy
import peers
import surfaces

DOUBLY_CURVED = {
    "cap": lambda: surfaces.cap(),
    "saddle": lambda: surfaces.saddle(),
    "heel band": lambda: surfaces.heel_band()[:2],
    "irregular heel band": lambda: surfaces.heel_band(seed=4)[:2],
    **{f"patch {n}": (lambda n=n: surfaces.random_patch(n)) for n in range(20)},
}
UNROLLING = {
    "cylinder": lambda: surfaces.cylinder(),
    "irregular cylinder": lambda: surfaces.cylinder(seed=1),
    "cone": lambda: surfaces.cone(),
    "irregular cone": lambda: surfaces.cone(seed=2),
}
# Less than this of the energy is no improvement, and no more is left on the table. Below the
# floor a surface unrolls, to some 0.005 % of strain.
GAP, FLOOR = 1e-6, 1e-8


def write_obj(path, vertices, triangles):
    lines = [f"v {x!r} {y!r} {z!r}" for x, y, z in vertices.tolist()]
    lines += [f"f {a} {b} {c}" for a, b, c in (triangles + 1).tolist()]
    path.write_text("\n".join(lines) + "\n")


def read_obj(path):
    rows = [line.split() for line in path.read_text().splitlines()]
    vertices = np.array([r[1:] for r in rows if r and r[0] == "v"], float)
    triangles = np.array([r[1:] for r in rows if r and r[0] == "f"], int) - 1
    return vertices, triangles


@pytest.fixture(scope="module")
def flatten(featherline_json, tmp_path_factory):
    """Flattens (vertices, triangles), with more arguments if given; returns what was printed and
    the flat points."""
    folder = tmp_path_factory.mktemp("flatten")

    def run(vertices, triangles, *arguments):
        source, out = folder / "surface.obj", folder / "flat.obj"
        write_obj(source, vertices, triangles)
        report = featherline_json("flatten", source, "--out", out, *arguments)
        flat, same = read_obj(out)
        assert (same == triangles).all() and (flat[:, 2] == 0).all()
        return report, flat[:, :2]

    return run


@pytest.fixture(scope="module")
def laid_flat(flatten):
    """Every surface by name, flattened once: vertices, triangles, report, flat points."""
    done = {}

    def get(name):
        if name not in done:
            vertices, triangles = (DOUBLY_CURVED | UNROLLING)[name]()
            done[name] = (vertices, triangles, *flatten(vertices, triangles))
        return done[name]

    return get


def rim_of(triangles):
    """The boundary loop of a disk, found from the sides that have no partner."""
    sides = {(t[k], t[(k + 1) % 3]) for t in triangles.tolist() for k in range(3)}
    after = dict(s for s in sides if s[::-1] not in sides)
    rim = [min(after)]
    while (following := after[rim[-1]]) != rim[0]:
        rim.append(following)
    assert len(rim) == len(after)
    return rim


def shape_difference(p, q):
    """Largest distance between two layouts after the best turn and shift, mm."""
    p, q = p - p.mean(0), q - q.mean(0)
    u, _, v = np.linalg.svd(p.T @ q)
    turn = u @ np.diag([1, np.linalg.det(u @ v)]) @ v
    return np.abs(p @ turn - q).max()


@pytest.mark.parametrize("name", UNROLLING)
def test_what_unrolls_is_not_strained(laid_flat, name):
    _, triangles, report, _ = laid_flat(name)
    assert len(triangles) >= 10_000
    assert report["triangles"] == len(triangles)
    for key in ("mean_strain", "p95_strain", "p99_strain"):
        assert report[key] < 0.01


def test_a_cylinder_unrolls_to_its_rectangle(laid_flat):
    vertices, triangles, _, flat = laid_flat("cylinder")
    # 210 chords, each spanning 1 mm of an arc of radius 40 mm.
    chords = 210 * 2 * 40 * np.sin(1 / 80)
    v = vertices[:, 2]
    u = np.arctan2(vertices[:, 1], vertices[:, 0]) % (2 * np.pi)
    expected = np.column_stack([u / (210 / 40) * chords, v])
    assert shape_difference(expected, flat) < 1e-6


@pytest.mark.parametrize("name", DOUBLY_CURVED)
def test_no_more_energy_than_arap_and_slim(laid_flat, name):
    vertices, triangles, _, flat = laid_flat(name)
    ours = energy.energy(vertices, triangles, flat)
    start = peers.lscm(vertices, triangles)
    assert np.isfinite(energy.energy(vertices, triangles, start))
    compared = 0
    for peer in (peers.arap, peers.slim):
        theirs = energy.energy(vertices, triangles, peer(vertices, triangles, start))
        if np.isfinite(theirs):
            compared += 1
            assert ours <= theirs * (1 + GAP)
    assert compared > 0


@pytest.mark.parametrize("name", DOUBLY_CURVED | UNROLLING)
def test_newton_finds_nothing_better(laid_flat, name):
    vertices, triangles, report, flat = laid_flat(name)
    ours = energy.energy(vertices, triangles, flat)
    assert report["energy"] == pytest.approx(ours, rel=1e-9, abs=1e-20)
    better = energy.polish(vertices, triangles, flat)
    assert ours - better < GAP * max(ours, FLOOR)


def test_the_polish_polishes():
    """From LSCM, far off, the polish alone must come down; else it would prove nothing."""
    vertices, triangles = surfaces.random_patch(0)
    start = peers.lscm(vertices, triangles)
    before = energy.energy(vertices, triangles, start)
    reached = energy.polish(vertices, triangles, start, steps=60)
    assert reached < 0.6 * before
    assert energy.polish(vertices, triangles, start, steps=80) == pytest.approx(reached, rel=1e-9)


def test_the_polish_has_the_right_derivatives():
    vertices, triangles = surfaces.random_patch(3)
    random = np.random.default_rng(7)
    flat = peers.lscm(vertices, triangles)
    gradient, hessian = energy.gradient_and_hessian(vertices, triangles, flat)
    for _ in range(3):
        along = random.normal(size=flat.size)
        h = 1e-6
        ahead, behind = (flat + s * h * along.reshape(-1, 2) for s in (1, -1))
        slope = (
            energy.energy(vertices, triangles, ahead) - energy.energy(vertices, triangles, behind)
        ) / (2 * h)
        assert slope == pytest.approx(gradient @ along, rel=1e-5)
        bend = (
            energy.gradient_and_hessian(vertices, triangles, ahead)[0]
            - energy.gradient_and_hessian(vertices, triangles, behind)[0]
        ) / (2 * h)
        expected = hessian @ along
        assert np.abs(bend - expected).max() < 1e-5 * np.abs(expected).max()


@pytest.mark.parametrize("name", DOUBLY_CURVED | UNROLLING)
def test_nothing_is_flipped_and_nothing_overlaps(laid_flat, name):
    _, triangles, report, flat = laid_flat(name)
    areas = energy.signed_areas(flat, triangles)
    assert areas.min() > 0 and report["flipped"] == 0
    outline = Polygon(flat[rim_of(triangles)])
    assert outline.is_valid and outline.exterior.is_simple and report["overlaps"] == 0
    union = shapely.union_all(shapely.polygons(flat[triangles]))
    assert union.area == pytest.approx(areas.sum(), rel=1e-9)


@pytest.mark.parametrize("name", DOUBLY_CURVED | UNROLLING)
def test_strain_is_what_numpy_finds(laid_flat, name):
    vertices, triangles, report, flat = laid_flat(name)
    expected = energy.strain(vertices, triangles, flat)
    printed = [report[k] for k in ("mean_strain", "p95_strain", "p99_strain")]
    assert printed == pytest.approx(expected, rel=1e-6, abs=1e-9)


@pytest.mark.parametrize("name", ["heel band", "irregular heel band", "cap", "patch 1", "patch 9"])
def test_pose_size_and_order_do_not_matter(flatten, laid_flat, name):
    vertices, triangles, report, flat = laid_flat(name)
    random = np.random.default_rng(11)

    def same(other, points, scale=1.0):
        assert other["energy"] == pytest.approx(report["energy"], rel=1e-9)
        assert shape_difference(points / scale, flat) < 1e-6

    mirror = np.array([-1, 1, 1])
    same(*flatten(vertices * mirror, triangles))
    turned_over, points = flatten(vertices * mirror, triangles[:, ::-1])
    same(turned_over, points * mirror[:2])

    turn, _ = np.linalg.qr(random.normal(size=(3, 3)))
    turn *= np.sign(np.linalg.det(turn))
    same(*flatten(vertices @ turn.T + [30, -200, 70], triangles))

    same(*flatten(vertices * 10, triangles), scale=10)

    order = random.permutation(len(vertices))
    place = np.argsort(order)
    shuffled = random.permutation(place[triangles])
    rolled = np.array([np.roll(t, k) for t, k in zip(shuffled, random.integers(3, size=len(shuffled)))])
    other, points = flatten(vertices[order], rolled)
    same(other, points[place])


@pytest.mark.parametrize("spacing, same_triangles", [(1.8, False), (2.0, True)])
def test_a_symmetric_surface_gives_a_symmetric_piece(flatten, spacing, same_triangles):
    vertices, triangles, (columns, rows) = surfaces.heel_band(spacing=spacing)
    other = np.arange(columns * rows).reshape(rows, columns)[:, ::-1].ravel()
    assert np.abs(vertices[other] * [1, -1, 1] - vertices).max() < 1e-6
    as_sets = [{tuple(sorted(t)) for t in some.tolist()} for some in (triangles, other[triangles])]
    assert (as_sets[0] == as_sets[1]) == same_triangles
    _, flat = flatten(vertices, triangles)
    apart = shape_difference(flat[other] * [-1, 1], flat)
    assert apart < (1e-4 if same_triangles else 0.01)


def test_the_same_bytes_twice(featherline, tmp_path):
    source = tmp_path / "band.obj"
    write_obj(source, *surfaces.heel_band(spacing=3)[:2])
    outs = [tmp_path / "first.obj", tmp_path / "second.obj"]
    for out in outs:
        assert featherline("flatten", source, "--out", out).returncode == 0
    assert outs[0].read_bytes() == outs[1].read_bytes()


def test_a_ramp_that_winds_past_a_full_turn_overlaps(flatten):
    """A spiral ramp of 450 degrees flattens onto itself; shapely agrees that it overlaps."""
    columns, rows = 120, 8
    turn, r = np.meshgrid(np.linspace(0, np.radians(450), columns), np.linspace(20, 30, rows))
    turn, r = turn.ravel(), r.ravel()
    vertices = np.column_stack([r * np.cos(turn), r * np.sin(turn), 0.5 * turn])
    triangles = surfaces.grid(columns, rows)
    report, flat = flatten(vertices, triangles)
    assert report["flipped"] == 0
    assert energy.signed_areas(flat, triangles).min() > 0
    assert report["overlaps"] > 0
    assert not Polygon(flat[rim_of(triangles)]).is_valid


@pytest.mark.parametrize(
    "opening, spacing", [(120.0, 3.0), (150.0, 3.0), (170.0, 3.0)], ids=lambda v: f"{v:g}"
)
def test_nearly_closed_spheres_flip_nothing(flatten, opening, spacing):
    vertices, triangles = surfaces.cap(spacing=spacing, opening=opening)
    report, flat = flatten(vertices, triangles)
    assert report["flipped"] == 0
    ours = energy.energy(vertices, triangles, flat)
    assert np.isfinite(ours)
    assert ours - energy.polish(vertices, triangles, flat) < GAP * max(ours, FLOOR)


def test_json_has_these_keys_and_no_others(laid_flat):
    _, _, report, _ = laid_flat("patch 7")
    assert list(report) == [
        "triangles",
        "energy",
        "mean_strain",
        "p95_strain",
        "p99_strain",
        "area_over_limit",
        "flipped",
        "overlaps",
        "kept_apart",
        "iterations",
        "seconds",
        "memory_mb",
    ]
    json.dumps(report, allow_nan=False)


def tube():
    columns, rows = 13, 4
    turn, z = np.meshgrid(np.linspace(0, 2 * np.pi, columns), np.arange(rows, dtype=float))
    vertices = np.column_stack([np.cos(turn.ravel()), np.sin(turn.ravel()), z.ravel()])
    index = np.arange(columns * rows)
    index[columns - 1 :: columns] = index[0 :: columns]
    used = np.unique(index)
    return vertices[used], np.searchsorted(used, index[surfaces.grid(columns, rows)])


def tetrahedron():
    vertices = np.array([[0, 0, 0], [1, 0, 0], [0, 1, 0], [0, 0, 1]], float)
    return vertices, np.array([[0, 2, 1], [0, 1, 3], [0, 3, 2], [1, 2, 3]])


def two_pieces():
    vertices, triangles = surfaces.random_patch(5)
    both = np.concatenate([triangles, triangles + len(vertices)])
    return np.concatenate([vertices, vertices + [200, 0, 0]]), both


def with_a_line():
    vertices, triangles = surfaces.cylinder(spacing=20)
    a, b, _ = triangles[17]
    vertices[triangles[17, 2]] = (vertices[a] + vertices[b]) / 2
    return vertices, triangles


@pytest.mark.parametrize(
    "build, words",
    [
        (tube, "two boundary loops"),
        (tetrahedron, "closed"),
        (two_pieces, "2 pieces"),
        (with_a_line, "triangle 17 has no area"),
    ],
    ids=lambda v: getattr(v, "__name__", ""),
)
def test_what_is_no_disk_is_refused_by_name(featherline, tmp_path, build, words):
    source, out = tmp_path / "surface.obj", tmp_path / "flat.obj"
    write_obj(source, *build())
    done = featherline("flatten", source, "--out", out, "--json")
    assert done.returncode == 1
    assert words in json.loads(done.stdout)["error"]["message"]
    assert words in done.stderr and "surface.obj" in done.stderr
    assert not out.exists() and list(tmp_path.iterdir()) == [source]


def test_a_file_that_cannot_be_written_is_named(featherline, tmp_path):
    source = tmp_path / "surface.obj"
    write_obj(source, *surfaces.random_patch(5))
    out = tmp_path / "no such folder" / "flat.obj"
    done = featherline("flatten", source, "--out", out)
    assert done.returncode == 1 and "no such folder" in done.stderr
