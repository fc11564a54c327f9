"""One stiffener for neighbouring sizes, held against the own pieces of each by other readers."""

import json
import shutil

import numpy as np
import pytest
import shapely

from piece_drafted import NamedSurface
from piece_files import read_dxf
from piece_heights import between


@pytest.fixture(scope="module")
def shared(demo_job, draft_sizes, tmp_path_factory):
    job = tmp_path_factory.mktemp("shared") / "job"
    shutil.copytree(demo_job, job)
    return draft_sizes(job, "EU 36..40", "--one-for", "2")


def told(report):
    return {d["name"]: d["value"] for d in report["dimensions"]}


def own_report(folder, name):
    return told(json.loads((folder / f"{name}.json").read_text()))


@pytest.mark.parametrize("foot", ["left", "right"])
@pytest.mark.parametrize("small, large", [(36, 37), (38, 39)])
def test_smallest_governs_the_top_and_largest_the_length(shared, drafted, small, large, foot):
    both = own_report(shared.folder, f"EU-{small}-to-{large}-{foot}")
    least, most = told(drafted.report(f"EU {small}", foot)), told(drafted.report(f"EU {large}", foot))
    for name in ("back height", "ceiling under the inside ankle", "ceiling under the outside ankle"):
        assert both[name] == pytest.approx(least[name], abs=1e-6), name
    for name in ("inside wing ends, along the axis", "outside wing ends, along the axis"):
        assert both[name] == pytest.approx(most[name], abs=1e-6), name
    # Up the bare last of the largest, by the section through its seat (trimesh).
    wall = NamedSurface(shared.folder / f"EU-{small}-to-{large}-{foot}-wall.obj").line("centre_back")
    up = np.array([0.0, 1.0, 0.0])
    height, off = between(shared.last(f"EU {large}", foot), wall[0], wall[-1], up)
    assert off < 0.25 and height == pytest.approx(least["back height"], abs=0.1)


def test_what_it_costs_is_what_the_files_show(shared, drafted):
    for small, large in ((36, 37), (38, 39)):
        [piece] = [p for p in shared.grade["pieces"] if p["files"] == f"EU-{small}-to-{large}-right"]
        assert [cost["size"] for cost in piece["serves"]] == [f"EU {small}", f"EU {large}"]
        flat = read_dxf(shared.folder / f"EU-{small}-to-{large}-right.dxf").feather
        for cost in piece["serves"]:
            own = told(drafted.report(cost["size"]))
            assert cost["back_lower"] == pytest.approx(own["back height"] - piece["back_height"], abs=1e-9)
            # Where the flat feather lines run beside each other, by shapely.
            mine = read_dxf(drafted.file(cost["size"], "right", ".dxf")).feather.points
            line = shapely.LineString(flat.points)
            low, high = flat.points[:, 0].min(), flat.points[:, 0].max()
            beside = mine[(mine[:, 0] > low) & (mine[:, 0] < high)]
            apart = max(line.distance(shapely.Point(place)) for place in beside)
            assert cost["flat_apart"] == pytest.approx(apart, abs=0.1)
            # Never above a limit of any size it serves.
            assert cost["room"] > 1.0
        # The wings of the smaller one: by how much they end nearer to its own joint, from the
        # outlines of its last (the feather lines have the same length up to the wing's end).
        least = told(drafted.report(f"EU {small}"))
        most = told(drafted.report(f"EU {large}"))
        for nearer, name in zip(piece["serves"][0]["wing_nearer"], ("inside", "outside")):
            key = f"{name} wing ends, along the axis"
            assert nearer == pytest.approx(most[key] - least[key], abs=1.0), name
            assert piece["serves"][1]["wing_nearer"] == pytest.approx([0.0, 0.0], abs=1e-9)


def test_one_left_over_is_as_of_its_own(shared, drafted):
    for ending in (".dxf", ".svg"):
        assert shared.file("EU 40", "left", ending).read_bytes() == drafted.file(
            "EU 40", "left", ending
        ).read_bytes()


def test_its_files_go_when_they_are_out_of_date(shared, draft_sizes):
    names = {file.name for file in shared.folder.iterdir()}
    assert "EU-36-to-37-left.pdf" in names and "EU-36-left.pdf" not in names
    assert "EU-36-left-last.stl" in names
    draft_sizes(shared.folder.parent, "EU 40", "--feet", "left")
    names = {file.name for file in shared.folder.iterdir()}
    assert not any("-to-" in name for name in names)


def test_what_is_no_number_of_sizes_is_refused(demo_job, featherline):
    for call in (["--sizes", "EU 35..41", "--one-for", "7"], ["--sizes", "EU 39", "--one-for", "0"], ["--one-for", "2"]):
        done = featherline("draft", demo_job, *call)
        assert done.returncode == 2 and ("one-for" in done.stderr or "--sizes" in done.stderr), call
