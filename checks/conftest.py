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
    """Builds an example of a crate and returns the path of its program.

    example("build_last")
    """

    def build(name):
        # As `make checks` builds all of them; with one package alone cargo would begin anew.
        command = ["cargo", "build", "--release", "--quiet", "--workspace"]
        command += ["--example", name, "--message-format", "json"]
        done = subprocess.run(command, cwd=ROOT, check=True, capture_output=True, text=True)
        built = [json.loads(line) for line in done.stdout.splitlines()]
        return next(
            message["executable"]
            for message in built
            if message.get("executable") and message["target"]["name"] == name
        )

    return build
