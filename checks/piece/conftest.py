"""Lasts, jobs and drafted pieces, each made once and shared by all checks of the piece."""

import json
import os
import subprocess

import pytest

from piece_drafted import Piece


class NotDrafted(Exception):
    """The program wrote no piece; its own words."""


@pytest.fixture(scope="session")
def last_builder(example):
    """The program that builds a last from measures: the path of its binary."""
    return os.environ.get("FEATHERLINE_BUILD_LAST") or example("build_last")


@pytest.fixture(scope="session")
def built_last(last_builder, tmp_path_factory):
    """built_last(eu, foot, heel, radius) -> path of an OBJ, its truth in JSON beside it."""
    made = {}

    def build(eu, foot, heel=25, radius=0):
        asked = (eu, foot, heel, radius)
        if asked not in made:
            path = tmp_path_factory.mktemp("last") / "last.obj"
            words = [f"sll={eu * 20 / 3!r}", f"foot={foot}", f"heel={heel}", f"radius={radius}"]
            subprocess.run([last_builder, path, *words, "edge=2.5"], check=True)
            made[asked] = path
        return made[asked]

    return build


@pytest.fixture(scope="session")
def new_job(featherline, tmp_path_factory):
    """new_job(scan, size, foot, **{"stiffener.kind": ...}) -> folder of a job named `check`."""

    def make(scan, size, foot, *words, **settings):
        job = tmp_path_factory.mktemp("job") / "check"
        done = featherline(
            "new", job, "--last", scan, "--size", size, "--foot", foot, "--name", "check", *words
        )
        assert done.returncode == 0, done.stderr
        for key, value in settings.items():
            done = featherline("set", job, key, str(value))
            assert done.returncode == 0, done.stderr
        return job

    return make


@pytest.fixture(scope="session")
def draft_job(featherline):
    """draft_job(job, *words) -> Piece. A failed check of the program's own is no error here."""

    def draft(job, *words):
        out = job.parent / f"out{len(list(job.parent.iterdir()))}"
        done = featherline("draft", job, "--out", out, *words)
        if not (out / "report.json").exists():
            raise NotDrafted(done.stderr.strip())
        return Piece(out)

    return draft


@pytest.fixture(scope="session")
def drafted(built_last, new_job, draft_job):
    """drafted(eu, foot, heel, radius, **settings) -> Piece on a built last."""
    made = {}

    def make(eu, foot, heel=25, radius=0, **settings):
        asked = json.dumps([eu, foot, heel, radius, settings], sort_keys=True)
        if asked not in made:
            scan = built_last(eu, foot, heel, radius)
            try:
                made[asked] = draft_job(new_job(scan, f"EU {eu}", foot, **settings))
            except NotDrafted as error:
                made[asked] = error
        if isinstance(made[asked], NotDrafted):
            raise made[asked]
        return made[asked]

    return make
