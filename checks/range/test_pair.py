"""A pair that differs: the left last changed by trimesh in a known place, by a known amount."""

import json

import numpy as np
import pymupdf
import pytest
import trimesh

# On the outside of the left last's ball; how much is built up, and how far round that it runs out.
PLACE, BUILT_UP, REACH = np.array([175.7, 31.3, 4.2]), 3.0, 18.0


@pytest.fixture(scope="module")
def jobs(drafted, featherline, tmp_path_factory):
    folder = tmp_path_factory.mktemp("pair")
    left = drafted.last("EU 39", "left")
    away = np.linalg.norm(left.vertices - PLACE, axis=1)
    built = left.vertices + left.vertex_normals * (BUILT_UP * np.exp(-((away / REACH) ** 2)))[:, None]
    changed = trimesh.Trimesh(built, left.faces, process=False)
    # Scanned as it lay.
    changed.apply_transform(trimesh.transformations.rotation_matrix(0.3, [1, 2, 3], [10, 20, 30]))
    changed.export(folder / "changed.stl")
    for name, file, foot in [
        ("changed", folder / "changed.stl", "left"),
        ("plain", drafted.file("EU 39", "left", "-last.stl"), "left"),
        ("right", drafted.file("EU 39", "right", "-last.stl"), "right"),
    ]:
        done = featherline("new", folder / name, "--last", file, "--size", "EU 39", "--foot", foot)
        assert done.returncode == 0, done.stderr
    return folder


def compared(featherline, *jobs):
    done = featherline("pair", *jobs, "--json")
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)


@pytest.fixture(scope="module")
def told(jobs, featherline):
    return compared(featherline, jobs / "changed", jobs / "right")


def test_what_was_built_up_is_found_where_it_is(told):
    most = told["parts"][0]
    assert most["name"].startswith("ball") and most["most"] == pytest.approx(-BUILT_UP, abs=0.15)
    # On the right last, the mirror image of where it was built up.
    assert np.linalg.norm(np.array(most["at"]) - PLACE * [1, -1, 1]) < 3.0
    for part in told["parts"]:
        if part["name"].split(",")[0] in ("heel", "waist"):
            assert abs(part["most"]) < 0.15, part
    girth = {row["name"]: row["right"] - row["left"] for row in told["measures"]}
    assert girth["ball girth"] < -1.0
    for name in ("instep girth", "short heel girth", "long heel girth"):
        assert abs(girth[name]) < 0.3, name


def test_the_order_of_the_jobs_does_not_matter(told, jobs, featherline):
    assert told == compared(featherline, jobs / "right", jobs / "changed")


def test_an_even_pair_differs_nowhere(jobs, featherline):
    told = compared(featherline, jobs / "plain", jobs / "right")
    assert all(abs(part["most"]) < 0.02 for part in told["parts"])
    assert told["stiffeners"] == []
    done = featherline("pair", jobs / "plain", jobs / "right")
    assert "nowhere by 0.5 mm or more" in done.stdout


def test_the_sheet_shows_it(told, jobs):
    sheet = pymupdf.open(jobs / "changed" / "pair" / "pair.pdf")
    page = sheet[0].get_pixmap(dpi=72)
    colours = np.frombuffer(page.samples, np.uint8).reshape(-1, page.n)[:, :3]
    # The colour of "left fuller by 2 to 4 mm", far beyond its entry in the legend.
    painted = (np.abs(colours.astype(int) - [128, 115, 172]).max(1) < 3).sum()
    assert painted > 150
    words = " ".join(page.get_text() for page in sheet)
    assert "ball, outside" in words and "Right fuller by" in words


def test_two_lasts_of_one_foot_are_refused(jobs, featherline):
    done = featherline("pair", jobs / "changed", jobs / "plain")
    assert done.returncode == 1 and "both lasts are for the left foot" in done.stderr
