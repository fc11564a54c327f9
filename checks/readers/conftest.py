"""The example programs of the geometry crate that the checks here run."""

import json
import subprocess

import pytest


@pytest.fixture(scope="session")
def mesh_info(example):
    """Runs mesh_info FILE OPTIONS... and returns what it printed; fails if it failed."""
    program = example("mesh_info")

    def run(file, *options):
        done = subprocess.run(
            [program, file, *map(str, options)], capture_output=True, text=True, timeout=60
        )
        assert done.returncode == 0, done.stderr
        return json.loads(done.stdout)

    return run


@pytest.fixture(scope="session")
def decimate(example):
    """Runs decimate IN TOLERANCE OUT.ply and returns what it printed; fails if it failed."""
    program = example("decimate")

    def run(*arguments):
        done = subprocess.run(
            [program, *map(str, arguments)], capture_output=True, text=True, timeout=120
        )
        assert done.returncode == 0, done.stderr
        return json.loads(done.stdout)

    return run
