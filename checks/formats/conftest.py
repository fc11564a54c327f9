"""What the checks of the formats share: a folder with the examples in every format."""

import pathlib
import subprocess

import pytest

ROOT = pathlib.Path(__file__).resolve().parents[2]


@pytest.fixture(scope="session")
def made(tmp_path_factory):
    """A folder with what both examples write."""
    folder = tmp_path_factory.mktemp("formats")
    for example in ("ruler", "instructions"):
        command = ["cargo", "run", "--quiet", "--release", "--package", "featherline-cutting"]
        command += ["--example", example, "--", str(folder)]
        subprocess.run(command, cwd=ROOT, check=True, timeout=900)
    return folder
