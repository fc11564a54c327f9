"""A range drafted once, for all that is measured on it: the demo's last, invented, EU 39."""

import json
import pathlib
import sys

import pytest
import trimesh

# How a piece and its files are read stands there.
sys.path.append(str(pathlib.Path(__file__).resolve().parent.parent / "piece"))


class Drafted:
    """The folder of a range."""

    def __init__(self, folder):
        self.folder = folder
        self.grade = json.loads((folder / "grade.json").read_text())

    def piece(self, size, foot="right"):
        found = [p for p in self.grade["pieces"] if (p["size"], p["foot"]) == (size, foot)]
        assert len(found) == 1, (size, foot)
        return found[0]

    def file(self, size, foot, ending):
        return self.folder / f"{size.replace(' ', '-')}-{foot}{ending}"

    def last(self, size, foot="right"):
        return trimesh.load(self.file(size, foot, "-last.stl"))

    def report(self, size, foot="right"):
        return json.loads(self.file(size, foot, ".json").read_text())


@pytest.fixture(scope="session")
def demo_job(featherline, tmp_path_factory):
    job = tmp_path_factory.mktemp("range") / "job"
    done = featherline("demo", job)
    assert done.returncode == 0, done.stderr
    return job


@pytest.fixture(scope="session")
def draft_sizes(featherline):
    """draft_sizes(job, sizes, *options) -> what was written."""

    def run(job, sizes, *options):
        done = featherline("draft", job, "--sizes", sizes, *options)
        assert done.returncode == 0, done.stderr
        return Drafted(job / "sizes")

    return run


@pytest.fixture(scope="session")
def drafted(demo_job, draft_sizes):
    """EU 35 to 48, both feet."""
    return draft_sizes(demo_job, "EU 35..48")


@pytest.fixture(scope="session")
def job_on(featherline, tmp_path_factory):
    """job_on(drafted, size) -> a job whose base is a graded last as its STL file alone tells it;
    `marked`: with the pose and the marks that went along."""

    def make(drafted, size, foot="right", marked=False):
        job = tmp_path_factory.mktemp("again") / "job"
        piece = drafted.piece(size, foot)
        settings = {}
        if marked:
            settings["last.pose"] = "[[1,0,0,0],[0,1,0,0],[0,0,1,0],[0,0,0,1]]"
            for name, place in piece["marks"].items():
                settings[f"marks.{name}"] = " ".join(map(str, place))
        calls = [
            ["new", job, "--last", drafted.file(size, foot, "-last.stl"), "--size", size]
            + ["--unit", "mm", "--foot", foot, "--heel-height", piece["heel_height"]]
        ]
        calls += [["set", job, key, value] for key, value in settings.items()]
        for call in calls:
            done = featherline(*call)
            assert done.returncode == 0, done.stderr
        return job

    return make
