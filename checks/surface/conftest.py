"""What the checks of lines on surfaces share: surfaces, and the program that draws on them."""

import json
import pathlib
import subprocess
import sys

import numpy as np
import pytest
import trimesh

sys.path += [str(pathlib.Path(__file__).parent.parent / beside) for beside in ("flatten", "measure")]

from surfaces import heel_band  # noqa: E402
from test_measure_foot import foot as foot_fixture  # noqa: E402, F401

# Invented lasts: a usual one, and a high one with a rounded edge; coarse, so that checks are short.
LASTS = {
    "last": ("sll=270", "heel=25", "edge=4", "foot=right"),
    "high last": ("sll=240", "heel=60", "radius=3", "edge=4", "foot=left"),
}


@pytest.fixture(scope="session")
def draw(example, tmp_path_factory):
    """Draws on a mesh: draw(mesh, do="shortest", ...) -> what was found."""
    program = example("on_surface")
    folder = tmp_path_factory.mktemp("surface")
    written = {}

    def run(mesh, **request):
        if id(mesh) not in written:
            path = folder / f"{len(written)}.obj"
            lines = ["v {!r} {!r} {!r}".format(*map(float, p)) for p in mesh.vertices]
            lines += ["f {} {} {}".format(*t) for t in mesh.faces + 1]
            path.write_text("\n".join(lines) + "\n")
            # Kept with the mesh, so that no other mesh gets its id.
            written[id(mesh)] = path, mesh
        asked = folder / "request.json"
        asked.write_text(json.dumps(request))
        command = [program, written[id(mesh)][0], asked]
        done = subprocess.run(command, capture_output=True, text=True, timeout=300)
        assert done.returncode == 0, done.stderr
        return json.loads(done.stdout)["found"]

    return run


@pytest.fixture(scope="session")
def lasts(example, tmp_path_factory):
    program = example("build_last")
    folder = tmp_path_factory.mktemp("lasts")
    built = {}
    for name, measures in LASTS.items():
        file = folder / f"{name}.obj"
        subprocess.run([program, file, *measures], check=True, capture_output=True)
        built[name] = trimesh.load(file, process=False)
    return built


@pytest.fixture(scope="session")
def bands():
    """The same invented heel band, in even and in uneven triangles."""
    even, uneven = heel_band(2.5), heel_band(1.6, seed=5)
    return {
        "band": trimesh.Trimesh(*even[:2], process=False),
        "uneven band": trimesh.Trimesh(*uneven[:2], process=False),
    }


@pytest.fixture(scope="module", params=["last", "high last", "band", "uneven band", "foot"])
def surface(request):
    """(name, mesh), one after another."""
    name = request.param
    if name == "foot":
        return name, request.getfixturevalue("foot_fixture")[1]
    kind = "lasts" if "last" in name else "bands"
    return name, request.getfixturevalue(kind)[name]


@pytest.fixture
def random():
    return np.random.default_rng(7)
