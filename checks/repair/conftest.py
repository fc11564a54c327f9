"""What the checks of repairs share: the built last, and the program that cleans a mesh."""

import json
import subprocess

import pytest
import trimesh

# The invented last that is broken in many ways: closed, with a flat top.
LAST = ("sll=260", "heel=25", "radius=0", "edge=2.5", "foot=right")


@pytest.fixture(scope="session")
def build(example, tmp_path_factory):
    """Builds a last by its measures: build("sll=260", ...) -> trimesh, vertices as written."""
    program = example("build_last")
    folder = tmp_path_factory.mktemp("lasts")

    def run(*measures):
        file = folder / ("_".join(measures).replace("=", "") + ".obj")
        if not file.exists():
            subprocess.run([program, file, *measures], check=True, capture_output=True)
        return trimesh.load(file, process=False)

    return run


@pytest.fixture(scope="session")
def last(build):
    """The last that is broken."""
    return build(*LAST)


@pytest.fixture(scope="session")
def clean(example):
    """Cleans a file: clean(FILE, OUT) -> (what it says, None) or (None, why it was refused)."""
    program = example("mesh_info")

    def run(file, out):
        command = [program, file, "--clean", "--write", out]
        done = subprocess.run(command, capture_output=True, text=True, timeout=120)
        if done.returncode == 0:
            return json.loads(done.stdout), None
        assert done.returncode == 1, done.stderr
        return None, done.stderr

    return run
