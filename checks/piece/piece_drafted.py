"""A drafted piece as its files tell it: surfaces with named lines, report, exported patterns."""

import functools
import json

import numpy as np
import trimesh

from piece_files import read_dxf, read_pdf, read_svg


def length(points):
    """Length of a polyline, in the unit of its points."""
    return float(np.linalg.norm(np.diff(points, axis=0), axis=1).sum())


class NamedSurface:
    """Vertices, triangles and named polylines of an OBJ that carries lines in groups."""

    def __init__(self, path):
        vertices, faces, self.lines, group = [], [], {}, None
        for row in path.read_text().splitlines():
            word, *rest = row.split() or [""]
            if word == "v":
                vertices.append([float(n) for n in rest])
            elif word == "f":
                faces.append([int(n.split("/")[0]) - 1 for n in rest])
            elif word == "g":
                group = rest[0]
            elif word == "l":
                self.lines[group] = np.array([int(n) - 1 for n in rest])
        self.vertices = np.array(vertices)
        self.faces = np.array(faces)
        self.mesh = trimesh.Trimesh(self.vertices, self.faces, process=False)

    def line(self, name):
        """The places of one named line."""
        return self.vertices[self.lines[name]]

    def wing_lengths(self):
        """Lengths of the feather line from the seat to the left and to the right wing end."""
        feather = self.lines["feather_line"]
        seat = int(np.flatnonzero(feather == self.lines["centre_back"][0])[0])
        return length(self.vertices[feather[: seat + 1]]), length(self.vertices[feather[seat:]])


class Piece:
    """The folder that one draft wrote; every file is read when first asked for."""

    def __init__(self, folder):
        self.folder = folder
        self.report = json.loads((folder / "report.json").read_text())
        self.foot = self.report["foot"]

    def surface(self, name):
        if name not in self._surfaces:
            self._surfaces[name] = NamedSurface(self.folder / "surfaces" / f"{name}.obj")
        return self._surfaces[name]

    @functools.cached_property
    def _surfaces(self):
        return {}

    @functools.cached_property
    def last(self):
        """The whole last, standing."""
        return trimesh.load(self.folder / "surfaces" / "last.obj", process=False)

    @functools.cached_property
    def patterns(self):
        """The flat piece as each format holds it: name -> Pattern."""
        return {
            "dxf": read_dxf(self.folder / "stiffener.dxf"),
            "svg": read_svg(self.folder / "stiffener.svg"),
            "pdf": read_pdf(self.folder / "stiffener.pdf"),
        }

    def dimension(self, name):
        """A dimension of the report: only to hold it against what is measured here."""
        found = [d["value"] for d in self.report["dimensions"] if d["name"] == name]
        assert len(found) == 1, f"{name}: {len(found)} in the report"
        return found[0]

    def medial_sign(self):
        """+1 where the inside is on the wearer's left (+y), which is so on a right foot."""
        return 1.0 if self.foot == "right" else -1.0
