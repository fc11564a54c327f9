"""What the checks of the formats share: a folder with the examples in every format."""

import subprocess

import pytest


@pytest.fixture(scope="session")
def made(tmp_path_factory, example):
    """A folder with what both examples write."""
    folder = tmp_path_factory.mktemp("formats")
    for name in ("ruler", "instructions"):
        subprocess.run([example(name), folder], check=True, timeout=900)
    return folder
