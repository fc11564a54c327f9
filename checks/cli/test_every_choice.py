"""Every choice that job.toml offers, taken as it comes: it drafts, keeps its own rules, and
gives an outline that can be cut."""

import itertools
import json

import numpy as np
import pytest
import trimesh

CONSTRUCTIONS = ["cemented", "welted", "strobel", "stitched_outward"]
KINDS = ["leather", "fibreboard", "thermoplastic", "moulded"]
WINGS = ["long", "mid_waist", "short"]
PAIRS = list(itertools.product(WINGS, WINGS))


def failed(bench, *edits):
    for key, value in edits:
        bench.done("set", "job", key, value)
    report = json.loads(bench.run("check", "job", "--json").stdout)
    return [(c["name"], c["value"], c["limit"]) for c in report["checks"] if c["verdict"] == "fail"]


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("construction", CONSTRUCTIONS)
def test_the_defaults_keep_their_own_rules(bench, job, construction, kind):
    assert failed(bench, ("stiffener.construction", construction), ("stiffener.kind", kind)) == []


@pytest.mark.parametrize("inside, outside", PAIRS)
def test_any_pair_of_wings_keeps_the_rules(bench, job, inside, outside):
    edits = [("stiffener.medial.length", inside), ("stiffener.lateral.length", outside)]
    assert failed(bench, *edits) == []


def rim(mesh):
    """The one boundary loop of a mesh, in order, as plan points."""
    open_edges = mesh.edges[trimesh.grouping.group_rows(mesh.edges_sorted, require_count=1)]
    after = dict(open_edges)
    assert len(after) == len(open_edges)
    loop = [open_edges[0][0]]
    while after[loop[-1]] != loop[0]:
        loop.append(after[loop[-1]])
    assert len(loop) == len(open_edges)
    return mesh.vertices[loop][:, :2]


def sharpest_corner(points, arm=3.0):
    """The smallest angle between two arms of that length, mm, along a closed line; degrees."""
    ends = np.vstack([points, points[:1]])
    along = np.concatenate([[0], np.cumsum(np.linalg.norm(np.diff(ends, axis=0), axis=1))])
    at = lambda s: np.column_stack(
        [np.interp(s % along[-1], along, ends[:, axis]) for axis in (0, 1)]
    )
    s = along[:-1]
    back, forth = at(s - arm) - points, at(s + arm) - points
    cosine = (back * forth).sum(1) / np.linalg.norm(back, axis=1) / np.linalg.norm(forth, axis=1)
    return np.degrees(np.arccos(np.clip(cosine, -1, 1)).min())


def test_sharpest_corner_measures_what_it_says():
    step = np.linspace(0, 1, 50, endpoint=False)[:, None]
    sides = lambda corners: np.vstack(
        [a + step * (b - a) for a, b in zip(corners, np.roll(corners, -1, axis=0))]
    )
    square = np.array([[0, 0], [40, 0], [40, 40], [0, 40.0]])
    assert sharpest_corner(sides(square)) == pytest.approx(90, abs=1e-9)
    barb = np.array([[0, 0], [40, 0], [30, 5], [40, 40], [0, 40.0]])
    assert sharpest_corner(sides(barb)) == pytest.approx(np.degrees(np.arctan2(5, 10)), abs=1e-9)


@pytest.mark.parametrize("inside, outside", PAIRS)
def test_the_wall_has_no_barb(bench, job, inside, outside):
    """Ends are rounded at the top and meet the feather line below: nothing sharper than 60
    degrees (a short end raked back by the rule's default meets it at some 75)."""
    bench.done("set", "job", "stiffener.medial.length", inside)
    bench.done("set", "job", "stiffener.lateral.length", outside)
    bench.run("draft", "job", "--out", "pieces")
    flat = trimesh.load(bench / "pieces" / "surfaces" / "flat.obj", process=False)
    assert sharpest_corner(rim(flat)) > 60
