"""A range of sizes, measured on its files by trimesh and scipy, and against published tables.

Tables: lengths by Paris points (an encyclopaedia's article on shoe sizes), girths 5 mm a size (a
trade page, and a Chinese encyclopaedia page); ankle ceilings and back heights as a table that holds
the rule of thumb (common practice, no source) against ANSUR II (US Army report NATICK/TR-15/007).
"""

import json
import shutil

import numpy as np
import pytest
import trimesh

from piece_drafted import NamedSurface
from piece_files import read_dxf, read_pdf, read_svg
from piece_heights import between
from taut import tape

SIZES = [f"EU {n}" for n in range(35, 49)]

# EU size: outside and inside ceiling, back height with 3 mm for settling, mm, printed to 0.1.
RULE = {
    36: (40.0, 46.5, 51.0),
    37: (40.6, 46.9, 52.3),
    38: (41.1, 47.3, 53.7),
    39: (41.7, 47.7, 55.0),
    40: (42.2, 48.1, 56.3),
    41: (42.8, 48.4, 57.7),
    42: (43.3, 48.8, 59.0),
    43: (43.9, 49.2, 60.3),
    44: (44.4, 49.6, 61.7),
    45: (45.0, 50.0, 63.0),
    46: (45.0, 50.0, 64.3),
}


def ball_girth(mesh, marks):
    """In the upright plane through both joints."""
    medial, lateral = np.array(marks["joint_medial"]), np.array(marks["joint_lateral"])
    normal = np.cross(medial - lateral, [0, 0, 1])
    return tape(mesh, medial, normal / np.linalg.norm(normal))


def settled(mesh, mark):
    """Straight across over a mark of the ridge, at its least length."""
    leans = np.linspace(-1.1, 0.4, 76)

    def girth(lean):
        return tape(mesh, mark, [np.cos(lean), 0, np.sin(lean)])

    best = min(leans, key=girth)
    return min(girth(lean) for lean in np.linspace(best - 0.02, best + 0.02, 9))


@pytest.mark.parametrize("foot", ["left", "right"])
def test_lasts_step_as_the_tables_say(drafted, foot):
    base = drafted.last("EU 39", foot), drafted.piece("EU 39", foot)["marks"]
    girth = ball_girth(*base)
    for size in SIZES:
        mesh, marks = drafted.last(size, foot), drafted.piece(size, foot)["marks"]
        assert mesh.is_watertight and mesh.volume > 0
        sizes = int(size[3:]) - 39
        assert mesh.extents[0] - base[0].extents[0] == pytest.approx(sizes * 20 / 3, abs=0.01)
        assert ball_girth(mesh, marks) - girth == pytest.approx(sizes * 5, abs=0.05)


@pytest.mark.parametrize("size", ["EU 35", "EU 42", "EU 48"])
def test_waist_and_instep_step_too(drafted, size):
    base, marks = drafted.last("EU 39"), drafted.piece("EU 39")["marks"]
    mesh, moved = drafted.last(size), drafted.piece(size)["marks"]
    for name in ["waist", "instep"]:
        gain = settled(mesh, moved[name]) - settled(base, marks[name])
        assert gain == pytest.approx(5 * (int(size[3:]) - 39), abs=0.05), name


@pytest.mark.parametrize("size", ["EU 35", "EU 36", "EU 42", "EU 46", "EU 48"])
def test_marks_found_anew_are_those_that_went_along(drafted, featherline_json, size):
    """Read as any scan: the joints are where they were, within the millimetre in which a widest
    place is found, which turns the ball plane enough for 3 in 1000 of its girth."""
    piece = drafted.piece(size)
    path = drafted.file(size, "right", "-last.stl")
    heel = piece["heel_height"]
    found = featherline_json("measure", path, "--size", size, "--heel-height", heel)
    last_from_file = np.array(found["last_from_file"])
    for name in ["joint_medial", "joint_lateral", "toe"]:
        there = last_from_file @ [*piece["marks"][name], 1.0]
        assert np.linalg.norm(there[:3] - found["marks"][name]) < 1.0, name
    girth = ball_girth(drafted.last(size), piece["marks"])
    assert found["ball_girth"] == pytest.approx(girth, rel=0.003)


def test_heel_height_and_toe_spring_stay(drafted):
    kept = drafted.piece("EU 39")
    ground = drafted.last("EU 39").bounds[0, 2]
    for size in SIZES:
        piece, mesh = drafted.piece(size), drafted.last(size)
        assert mesh.bounds[0, 2] == pytest.approx(ground, abs=0.01)
        assert piece["heel_height"] == pytest.approx(kept["heel_height"], abs=0.01)
        spring = piece["marks"]["toe"][2] - kept["marks"]["toe"][2]
        assert spring == pytest.approx(0, abs=0.01)


@pytest.mark.parametrize("size", ["EU 35", "EU 43", "EU 46", "EU 48"])
def test_grading_a_graded_last_back_returns_the_base(drafted, draft_sizes, job_on, size):
    """Exported as STL, read as a new base like any scan, graded back: within 0.05 mm, one laid on
    the other (trimesh), since the frame turns with the seat, which is found anew. Triangles keep
    their order."""
    again = draft_sizes(job_on(drafted, size), "EU 39", "--feet", "right")
    base, back = (it.last("EU 39").triangles.reshape(-1, 3) for it in (drafted, again))
    _, laid, _ = trimesh.registration.procrustes(back, base, reflection=False, scale=False)
    assert np.linalg.norm(laid - base, axis=1).max() < 0.05


@pytest.mark.parametrize("size", ["EU 36", "EU 41", "EU 46"])
def test_a_size_drafted_alone_is_the_same_piece(drafted, job_on, featherline, size):
    """The graded last drafted as a job of its own: the same dimensions within a twentieth."""
    job = job_on(drafted, size, marked=True)
    done = featherline("draft", job)
    assert done.returncode == 0, done.stderr
    alone = {d["name"]: d["value"] for d in json.loads((job / "patterns" / "report.json").read_text())["dimensions"]}
    for dimension in drafted.report(size)["dimensions"]:
        if dimension["unit"] == "mm":
            assert alone[dimension["name"]] == pytest.approx(dimension["value"], abs=0.15), dimension


def test_the_other_foot_is_the_mirror_image(drafted):
    for size in ["EU 36", "EU 39", "EU 45"]:
        right, left = drafted.last(size, "right"), drafted.last(size, "left")
        mirrored = right.triangles * [1, -1, 1]
        apart = np.abs(np.sort(mirrored, axis=1) - np.sort(left.triangles, axis=1))
        assert apart.max() < 1e-4
        for one, other in zip(
            drafted.report(size, "right")["dimensions"], drafted.report(size, "left")["dimensions"]
        ):
            assert one["name"] == other["name"]
            assert one["value"] == pytest.approx(other["value"], abs=0.15), one["name"]


@pytest.mark.parametrize("eu", RULE)
def test_heights_are_those_of_the_rule(drafted, eu):
    outside, inside, back = RULE[eu]
    told = {d["name"]: d["value"] for d in drafted.report(f"EU {eu}")["dimensions"]}
    assert told["ceiling under the outside ankle"] == pytest.approx(outside, abs=0.051)
    assert told["ceiling under the inside ankle"] == pytest.approx(inside, abs=0.051)
    assert told["back height"] == pytest.approx(back, abs=0.051)
    # Up the bare graded last itself, in its section by the upright plane through the seat.
    wall = NamedSurface(drafted.file(f"EU {eu}", "right", "-wall.obj")).line("centre_back")
    measured, off = between(drafted.last(f"EU {eu}"), wall[0], wall[-1], np.array([0.0, 1.0, 0.0]))
    assert off < 0.25
    assert measured == pytest.approx(back, abs=0.1)


def test_formats_agree_on_every_size(drafted):
    """The largest size is widest in each format, by as much in each."""
    spans = {}
    for size in ["EU 35", "EU 41", "EU 48"]:
        of = {
            "dxf": read_dxf(drafted.file(size, "right", ".dxf")),
            "svg": read_svg(drafted.file(size, "right", ".svg")),
            "pdf": read_pdf(drafted.file(size, "right", ".pdf")),
        }
        widths = {name: np.ptp(pattern.outline.points, axis=0) for name, pattern in of.items()}
        assert widths["svg"] == pytest.approx(widths["dxf"], abs=0.02)
        assert widths["pdf"] == pytest.approx(widths["dxf"], abs=0.02)
        spans[size] = widths["dxf"][0]
    assert spans["EU 35"] + 50 < spans["EU 41"] < spans["EU 48"] - 50


def test_what_is_to_grow_grows(demo_job, featherline, featherline_json, tmp_path):
    job = tmp_path / "job"
    shutil.copytree(demo_job, job)
    base = featherline_json("draft", job, "--sizes", "EU 39", "--feet", "right")["pieces"][0]
    for key in ["heel_height", "toe_spring", "top"]:
        assert featherline("set", job, f"range.{key}", "graded").returncode == 0
    large = featherline_json("draft", job, "--sizes", "EU 45", "--feet", "right")["pieces"][0]

    def spring(piece):
        return piece["marks"]["toe"][2] + piece["heel_height"]

    for grown in [lambda piece: piece["heel_height"], spring]:
        assert grown(large) == pytest.approx(grown(base) * 45 / 39, abs=0.01)
    assert large["marks"]["top_back"][2] > base["marks"]["top_back"][2] * 1.1
    kept = featherline("set", job, "range.top", "kept")
    assert kept.returncode == 0
    low = featherline_json("draft", job, "--sizes", "EU 45", "--feet", "right")["pieces"][0]
    assert low["marks"]["top_back"][2] == pytest.approx(base["marks"]["top_back"][2], abs=0.01)


def test_a_fitting_more_is_a_girth_step_more_and_no_length(demo_job, featherline, draft_sizes, tmp_path):
    """5 mm a fitting (continental; a trade page)."""
    job = tmp_path / "job"
    shutil.copytree(demo_job, job)
    assert featherline("set", job, "last.fitting", "6").returncode == 0
    drafted = draft_sizes(job, "EU 38, 39", "--fittings", "5, 6, 7", "--feet", "right")
    pieces = {(p["size"], p["fitting"]): p for p in drafted.grade["pieces"]}
    assert len(pieces) == 6 and len(drafted.grade["tables"]) == 3

    def last(size, fitting):
        prefix = pieces[size, fitting]["files"]
        assert prefix == f"{size.replace(' ', '-')}-fitting-{fitting}-right"
        mesh = trimesh.load(drafted.folder / f"{prefix}-last.stl")
        return mesh.extents[0], ball_girth(mesh, pieces[size, fitting]["marks"])

    length, girth = last("EU 39", "6")
    for size, fitting, gain in [("EU 39", "5", -5), ("EU 39", "7", 5), ("EU 38", "7", 0)]:
        found = last(size, fitting)
        longer = -20 / 3 if size == "EU 38" else 0
        assert found[0] - length == pytest.approx(longer, abs=0.01)
        assert found[1] - girth == pytest.approx(gain, abs=0.05)
    name = drafted.folder / "EU-39-fitting-7-right.svg"
    assert "EU 39, fitting 7" in name.read_text()
