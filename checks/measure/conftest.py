"""Built lasts to measure, and the program's measures of them."""

import json
import os
import subprocess

import numpy as np
import pytest
import trimesh


@pytest.fixture(scope="session")
def build_last(example, tmp_path_factory):
    """build_last(sll=260, foot="left", ...) -> (path of an OBJ, its truth); refused -> (None, why)."""
    program = os.environ.get("FEATHERLINE_BUILD_LAST") or example("build_last")
    made = {}

    def build(**measures):
        key = json.dumps(measures, sort_keys=True)
        if key not in made:
            path = tmp_path_factory.mktemp("last") / "last.obj"
            words = [f"{name}={value}" for name, value in measures.items()]
            done = subprocess.run([program, path, *words], capture_output=True, text=True)
            if done.returncode:
                made[key] = (None, done.stderr.strip())
            else:
                truth = json.loads(path.with_name("last.obj.truth.json").read_text())
                made[key] = (path, {k: np.array(v) for k, v in truth.items()})
        return made[key]

    return build


@pytest.fixture(scope="session")
def measured(featherline_json):
    """measured(path, *options) -> what the program measured."""
    kept = {}

    def run(path, *options):
        key = (str(path), *map(str, options))
        if key not in kept:
            kept[key] = featherline_json("measure", path, *options)
        return kept[key]

    return run


@pytest.fixture(scope="session")
def disguised(tmp_path_factory):
    """disguised(path, seed, unit, mirrored) -> the same last turned, moved, rescaled, reshuffled."""

    def hide(path, seed, per_unit=1.0, mirrored=False):
        rng = np.random.default_rng(seed)
        mesh = trimesh.load(path, process=False)
        vertices, faces = mesh.vertices.copy(), mesh.faces.copy()
        if mirrored:
            vertices[:, 1] *= -1
            faces = faces[:, ::-1]
        turn = trimesh.transformations.random_rotation_matrix(rng.random(3))[:3, :3]
        vertices = (vertices @ turn.T + [40.0, -300.0, 120.0]) / per_unit
        order = rng.permutation(len(vertices))
        faces = np.argsort(order)[faces][rng.permutation(len(faces))]
        out = tmp_path_factory.mktemp("disguised") / "scan.ply"
        trimesh.Trimesh(vertices[order], faces, process=False).export(out)
        return out

    return hide


@pytest.fixture(scope="session")
def as_built(featherline, measured, tmp_path_factory):
    """as_built(path, size, heel) -> measures in a job whose pose is that of the file.

    A degree between the axis found and the builder's moves the widest places along it by a
    millimetre or two. With the pose given both speak of the same axis.
    """

    def run(path, size, heel):
        job = tmp_path_factory.mktemp("job") / "job"
        pose = "[[1,0,0,0],[0,1,0,0],[0,0,1,0],[0,0,0,1]]"
        for words in (
            ("new", job, "--last", path, "--size", size, "--heel-height", heel, "--unit", "mm"),
            ("set", job, "last.pose", pose),
        ):
            done = featherline(*words)
            assert done.returncode == 0, done.stderr
        return measured(job)

    return run
