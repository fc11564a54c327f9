"""What every check needs: the program under test, and a folder for what is fetched or made."""

import json
import os
import pathlib
import subprocess

import pytest

ROOT = pathlib.Path(__file__).resolve().parent.parent


@pytest.fixture(scope="session")
def featherline():
    """Runs the program: featherline("flatten", mesh, ...) -> CompletedProcess (text, not checked)."""
    binary = os.environ.get("FEATHERLINE_BIN", str(ROOT / "target" / "release" / "featherline"))

    def run(*arguments, **options):
        options.setdefault("timeout", 600)
        return subprocess.run(
            [binary, *map(str, arguments)], capture_output=True, text=True, **options
        )

    return run


@pytest.fixture(scope="session")
def featherline_json(featherline):
    """Runs the program with --json and returns what it printed, parsed; fails if it failed."""

    def run(*arguments, **options):
        done = featherline(*arguments, "--json", **options)
        assert done.returncode == 0, done.stderr
        return json.loads(done.stdout)

    return run


@pytest.fixture(scope="session")
def example():
    """The path of an example's program, which `make checks` has built: example("build_last").

    Never built here: cargo puts a program in place anew each time it is asked, under the feet of
    another process that is about to run it.
    """

    def find(name):
        program = ROOT / "target" / "release" / "examples" / name
        assert program.is_file(), f"{program} is not there; `make checks` builds it"
        return str(program)

    return find
