"""Runs the program as these checks need it: in a small memory, watched for what it leaves."""

import json
import os
import pathlib
import resource
import shutil
import subprocess

import pytest

ROOT = pathlib.Path(__file__).resolve().parents[2]

# Of address space, for each run: a small old laptop. A header may promise far more than that.
MEMORY = 4 << 30

# Far beyond what refusing takes, and far below what anyone waits for.
SECONDS = 60

# What a program prints that fell over instead of refusing.
FALLEN_OVER = ["panicked", "RUST_BACKTRACE", "Traceback", "unwrap", ".rs:", "stack overflow"]


def whole_tree(folder):
    """Every name below a folder with its bytes; None for a folder."""
    return {
        str(path.relative_to(folder)): path.read_bytes() if path.is_file() else None
        for path in sorted(folder.rglob("*"))
    }


class Bench:
    """A scratch folder, and the program run inside it."""

    def __init__(self, folder):
        self.folder = folder
        self.temporary = folder / ".temporary"
        self.temporary.mkdir()
        self.binary = os.environ.get(
            "FEATHERLINE_BIN", str(ROOT / "target" / "release" / "featherline")
        )

    def __truediv__(self, name):
        return self.folder / name

    def run(self, *arguments, largest_file=None):
        """One run, bounded in memory and time. `largest_file` stands for a full disk."""

        def bound():
            resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
            resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
            if largest_file is not None:
                resource.setrlimit(resource.RLIMIT_FSIZE, (largest_file, largest_file))

        return subprocess.run(
            [self.binary, *map(str, arguments)],
            capture_output=True,
            text=True,
            cwd=self.folder,
            env={**os.environ, "TMPDIR": str(self.temporary)},
            timeout=SECONDS,
            preexec_fn=bound,
            # Python ignores the signal of a file grown too large, and so must the child: then
            # writing fails as it does on a full disk.
            restore_signals=largest_file is None,
        )

    def done(self, *arguments):
        """Runs what must succeed; returns what it printed."""
        result = self.run(*arguments)
        assert result.returncode == 0, result.stderr
        return result.stdout

    def refused(self, *arguments, says, code=1, largest_file=None):
        """Runs what must be refused, for people and with --json; returns the message.

        Every fragment of `says` stands in the message, nothing is written or changed, and
        standard output holds nothing (people) or the error as JSON and nothing else.
        """
        before = whole_tree(self.folder)
        for people in (True, False):
            extra = [] if people else ["--json"]
            result = self.run(*arguments, *extra, largest_file=largest_file)
            assert result.returncode == code, (result.returncode, result.stdout, result.stderr)
            for words in FALLEN_OVER:
                assert words not in result.stderr + result.stdout
            message = result.stderr
            if people:
                assert result.stdout == ""
                assert message.startswith(("error: ", "warning: "))
            else:
                answer = json.loads(result.stdout)
                assert list(answer) == ["error"] and list(answer["error"]) == ["message"]
                message = answer["error"]["message"]
            for words in says:
                assert words in message, message
            assert changes(before, whole_tree(self.folder)) == []
        return message


def changes(before, after):
    """Names that came, went or changed. The lock of a job is no content."""
    names = sorted(set(before) | set(after))
    return [
        name
        for name in names
        if not name.endswith(".lock")
        and before.get(name, "absent") != after.get(name, "absent")
    ]


@pytest.fixture
def bench(tmp_path):
    return Bench(tmp_path)


@pytest.fixture(scope="session")
def demo_last(tmp_path_factory):
    """The bytes of a sound last as binary STL: the demo's, invented, EU 39, right foot."""
    place = Bench(tmp_path_factory.mktemp("demo"))
    place.done("demo", "demo-job")
    return (place / "demo-job" / "last.stl").read_bytes()


@pytest.fixture(scope="session")
def made_job(demo_last, tmp_path_factory):
    """A job that drafts, made by the program; to be copied, not worked in."""
    place = Bench(tmp_path_factory.mktemp("made"))
    (place / "last.stl").write_bytes(demo_last)
    place.done("new", "job", "--last", "last.stl", "--size", "EU 39", "--foot", "right")
    return place / "job"


@pytest.fixture
def job(bench, demo_last, made_job):
    """A job that drafts: bench / "job"."""
    (bench / "last.stl").write_bytes(demo_last)
    shutil.copytree(made_job, bench / "job")
    return bench / "job"
