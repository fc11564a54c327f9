"""Each broken last is repaired or refused by name, through the program itself; none is taken
silently.

The bars: a repaired last measures as the unbroken one in length within 0.3 mm, in girth round the
ball within 0.5 mm, with its feather line within 1 mm away from the broken place.
"""

import json
import os
import pathlib
import resource
import subprocess

import numpy as np
import pytest

from broken import LAST
from broken_form import CASES, UNITS, noisy, as_ply

ROOT = pathlib.Path(__file__).resolve().parents[2]

# Of address space, for each run: a small old laptop. Longer than this it hangs.
MEMORY = 4 << 30
SECONDS = 60

LENGTH, BALL_GIRTH, FEATHER_LINE = 0.3, 0.5, 1.0


def run(*arguments, cwd):
    """The program in a small memory, in a folder of its own."""
    binary = os.environ.get("FEATHERLINE_BIN", str(ROOT / "target" / "release" / "featherline"))

    def bound():
        resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
        resource.setrlimit(resource.RLIMIT_CORE, (0, 0))

    words = [binary, *map(str, arguments)]
    options = {"capture_output": True, "text": True, "timeout": SECONDS}
    return subprocess.run(words, cwd=cwd, preexec_fn=bound, **options)


class Found:
    """What was measured, with places in the frame and unit of the last that was broken."""

    def __init__(self, measured, file_from_last):
        self.measured = measured
        self.last_from_file = np.linalg.inv(file_from_last)
        last_from_found = self.last_from_file @ np.linalg.inv(np.array(measured["last_from_file"]))
        line = np.array(measured["feather_line"]["points"])
        self.feather_line = line @ last_from_found[:3, :3].T + last_from_found[:3, 3]

    def places(self, repair):
        places = np.array(repair["places"]).reshape(-1, 3)
        return places @ self.last_from_file[:3, :3].T + self.last_from_file[:3, 3]


def off_line(points, line):
    """How far each point is from a closed line."""
    a, b = line[None], np.roll(line, -1, axis=0)[None]
    p = points[:, None]
    along = ((p - a) * (b - a)).sum(axis=2) / np.maximum(((b - a) ** 2).sum(axis=2), 1e-12)
    at = a + np.clip(along, 0, 1)[..., None] * (b - a)
    return np.linalg.norm(p - at, axis=2).min(axis=1)


def to_places(points, places):
    """How far each point is from the nearest of the places."""
    if not len(places):
        return np.full(len(points), np.inf)
    return np.linalg.norm(points[:, None] - np.array(places)[None], axis=2).min(axis=1)


@pytest.fixture(scope="module")
def sound(last, tmp_path_factory):
    """What is measured on the unbroken last, by noise."""
    found = {}

    def measure(noise):
        if noise not in found:
            folder = tmp_path_factory.mktemp("sound")
            mesh = noisy(last, noise)
            (folder / "last.ply").write_bytes(as_ply(mesh.vertices, mesh.faces))
            done = run("measure", "last.ply", "--json", cwd=folder)
            assert done.returncode == 0, done.stderr
            measured = json.loads(done.stdout)
            assert measured["repairs"] == [] and measured["watertight"]
            found[noise] = Found(measured, np.eye(4))
        return found[noise]

    return measure


@pytest.fixture(scope="module")
def last(build):
    return build(*LAST)


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.name)
def test_broken(case, last, sound, tmp_path):
    broken = case.broken(last)
    data = case.bytes(broken)
    (tmp_path / case.file_name).write_bytes(data)
    done = run("measure", case.file_name, "--json", *case.options, cwd=tmp_path)
    assert "panicked" not in done.stderr
    assert [path.name for path in tmp_path.iterdir()] == [case.file_name]
    assert (tmp_path / case.file_name).read_bytes() == data
    answer = json.loads(done.stdout)
    if case.refused:
        refused(case, done, answer)
    else:
        assert done.returncode == 0, done.stderr
        repaired(case, broken, Found(answer, case.pose() @ broken.frame), sound(case.noise))


IN_A_JOB = ["hole-in-the-heel", "spike", "doubled-by-a-tenth", "rod-on-the-top", "fold",
            "pair-of-lasts", "not-a-number-in-obj", "flat-sheet", "sole-missing", "cut-short-stl"]


@pytest.mark.parametrize("name", IN_A_JOB)
def test_broken_in_a_job(name, last, tmp_path):
    """The job is made and the repair told, or nothing is made and the refusal is the same."""
    case = next(case for case in CASES if case.name == name)
    (tmp_path / case.file_name).write_bytes(case.bytes(case.broken(last)))
    words = ["new", "job", "--last", case.file_name, "--size", "EU 39"]
    done = run(*words, "--json", cwd=tmp_path)
    assert "panicked" not in done.stderr
    measured = json.loads(run("measure", case.file_name, "--json", cwd=tmp_path).stdout)
    if case.refused:
        refused(case, done, json.loads(done.stdout))
        assert json.loads(done.stdout) == measured
        assert not (tmp_path / "job").exists()
    else:
        assert done.returncode == 0, done.stderr
        assert json.loads(done.stdout)["foot"] == case.foot
        for repair in measured["repairs"]:
            assert repair["message"] in done.stderr


def refused(case, done, answer):
    """By name: the file, what is wrong, where, and what to do; nothing else is printed."""
    assert done.returncode == 1, (done.stdout, done.stderr)
    assert list(answer) == ["error"] and list(answer["error"]) == ["message"]
    message = answer["error"]["message"]
    assert case.file_name in message
    message = message.replace(case.file_name, "")
    missing = [words for words in case.refused if words not in message]
    assert missing == [], message


def repaired(case, broken, found, sound):
    measured = found.measured
    repairs = measured["repairs"]
    kinds = {repair["kind"] for repair in repairs}
    assert case.repaired <= kinds <= case.repaired | case.also, repairs
    warnings = " ".join(w["message"] for w in measured["warnings"])
    assert [words for words in case.warned if words not in warnings] == [], warnings
    if not case.harmless:
        assert repairs or case.warned
    for repair in repairs:
        assert repair["count"] > 0 and repair["message"] and repair["hint"]

    assert measured["foot"] == case.foot
    assert measured["openings"] == case.openings and measured["watertight"] == (case.openings == 0)
    for name, bar in ("length", LENGTH), ("ball_girth", BALL_GIRTH):
        assert measured[name] == pytest.approx(sound.measured[name], abs=bar), name
    places = broken.places or []
    changed = broken.reach if broken.changed is None else broken.changed
    for one, other in (found, sound), (sound, found):
        away = one.feather_line[to_places(one.feather_line, places) > changed + 5]
        assert len(away) > 100
        assert off_line(away, other.feather_line).max() < FEATHER_LINE

    if broken.places is None:
        return
    for repair in repairs:
        off = to_places(found.places(repair), places)
        assert (off <= broken.reach).all(), (repair, off)
    named = np.vstack([np.zeros((0, 3)), *[found.places(r) for r in repairs]])
    told = sum(repair["count"] for repair in repairs)
    if len(named) and len(places) <= 12 and told <= 12:
        assert (to_places(np.array(places), named) <= broken.reach).all()
