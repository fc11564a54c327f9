"""Reads exported patterns with general-purpose readers: ezdxf, svgpathtools, PyMuPDF.

Every path keeps its exact length and signed area (arcs as arcs, Bezier curves by quadrature of
their own polynomials) and a fine polyline for shapely. All in mm, y up, moved so that the lower
end of the centre-back mark is the origin. Text is never looked at.
"""

import dataclasses

import ezdxf
import ezdxf.math
import numpy as np
import pymupdf
import svgpathtools

# One point of a PDF is 1/72 inch (ISO 32000-1, 8.3.2.3).
MM_PER_POINT = 25.4 / 72.0
# Line weights say in a PDF what layers say in DXF and SVG: cut lines are the heaviest.
CUT_WEIGHT, MARK_WEIGHT = 0.25, 0.12
GAUSS_NODES, GAUSS_WEIGHTS = np.polynomial.legendre.leggauss(24)


@dataclasses.dataclass
class Line:
    """One path: its layer, whether it is closed, and its exact measures."""

    layer: str
    closed: bool
    points: np.ndarray
    length: float
    area: float

    def moved(self, origin):
        return dataclasses.replace(self, points=self.points - origin)


@dataclasses.dataclass
class Pattern:
    """All cut and marked lines of one file, the seat at the origin."""

    lines: list

    def layer(self, name, closed):
        return [line for line in self.lines if line.layer == name and line.closed == closed]

    @property
    def outline(self):
        [outline] = self.layer("CUT", True)
        return outline

    @property
    def cuts(self):
        """Cut lines that are not closed."""
        return self.layer("CUT", False)

    @property
    def marks(self):
        return self.layer("MARK", False)

    @property
    def centre_back(self):
        """The one mark that stands upright."""
        return upright(self.lines)

    @property
    def feather(self):
        """The longest mark of which both ends lie on the outline, from left to right."""
        ends_on_outline = [
            mark
            for mark in self.marks
            if all(nearest(self.outline.points, mark.points[i]) < 0.05 for i in (0, -1))
        ]
        found = max(ends_on_outline, key=lambda mark: mark.length)
        if found.points[0, 0] > found.points[-1, 0]:
            found = dataclasses.replace(found, points=found.points[::-1])
        return found


def nearest(polyline, place):
    """Distance of a place from a polyline."""
    a, d = polyline[:-1], np.diff(polyline, axis=0)
    with np.errstate(invalid="ignore", divide="ignore"):
        t = np.nan_to_num(((place - a) * d).sum(1) / (d * d).sum(1)).clip(0, 1)
    return float(np.linalg.norm(place - a - t[:, None] * d, axis=1).min())


def upright(lines):
    found = []
    for line in lines:
        span = np.ptp(line.points, axis=0)
        if line.layer == "MARK" and not line.closed and span[1] > 10 * span[0] and span[1] > 20:
            found.append(line)
    [found] = found
    return found


def seat_at_origin(lines):
    mark = upright(lines).points
    origin = mark[np.argmin(mark[:, 1])]
    return Pattern([line.moved(origin) for line in lines])


def assemble(layer, closed, segments):
    """A Line of segments, each (fine points, length, area beside the chord to the origin)."""
    points = [segments[0][0][:1]] + [part[1:] for part, _, _ in segments]
    points = np.vstack(points)
    if not closed and np.linalg.norm(points[0] - points[-1]) < 1e-6 and len(points) > 3:
        closed = True
    length = sum(part for _, part, _ in segments)
    area = sum(part for _, _, part in segments)
    return Line(layer, closed, points, float(length), float(area))


def straight(a, b):
    return np.array([a, b]), np.hypot(*(b - a)), (a[0] * b[1] - a[1] * b[0]) / 2


def arc(center, radius, start, sweep, ends):
    """A circular arc, angles in radians, counter-clockwise positive."""
    n = int(np.ceil(abs(sweep) * max(radius, 1.0) / 0.2)) + 8
    angles = start + sweep * np.linspace(0, 1, n + 1)
    points = center + radius * np.column_stack([np.cos(angles), np.sin(angles)])
    points[0], points[-1] = ends
    _, _, chord = straight(*ends)
    segment = radius**2 * (sweep - np.sin(sweep)) / 2
    return points, radius * abs(sweep), chord + segment


def cubic(corners):
    a, b, c, d = corners

    def place(t):
        t, s = t[:, None], 1 - t[:, None]
        return s**3 * a + 3 * s**2 * t * b + 3 * s * t**2 * c + t**3 * d

    def slope(t):
        t, s = t[:, None], 1 - t[:, None]
        return 3 * (s**2 * (b - a) + 2 * s * t * (c - b) + t**2 * (d - c))

    t, w = (GAUSS_NODES + 1) / 2, GAUSS_WEIGHTS / 2
    p, v = place(t), slope(t)
    length = (np.linalg.norm(v, axis=1) * w).sum()
    area = ((p[:, 0] * v[:, 1] - p[:, 1] * v[:, 0]) * w).sum() / 2
    n = int(np.ceil(length / 0.2)) + 8
    return place(np.linspace(0, 1, n + 1)), length, area


def read_dxf(path):
    document = ezdxf.readfile(path)
    lines = []
    for entity in document.modelspace().query("POLYLINE"):
        layer = entity.dxf.layer
        if layer not in ("CUT", "MARK"):
            continue
        corners = [(np.array(v.dxf.location)[:2], v.dxf.get("bulge", 0.0)) for v in entity.vertices]
        if entity.is_closed:
            corners.append(corners[0])
        segments = []
        for (a, bulge), (b, _) in zip(corners, corners[1:]):
            if bulge == 0.0:
                segments.append(straight(a, b))
                continue
            # The bulge is the tangent of a quarter of the sweep (DXF reference, POLYLINE).
            center, start, end, radius = ezdxf.math.bulge_to_arc(tuple(a), tuple(b), bulge)
            sweep = 4 * np.arctan(bulge)
            from_angle = start if bulge > 0 else end
            segments.append(arc(np.array(center), radius, from_angle, sweep, (a, b)))
        lines.append(assemble(layer, entity.is_closed, segments))
    return seat_at_origin(lines)


def read_svg(path):
    document = svgpathtools.Document(str(path))
    root = document.tree.getroot()
    width, box = root.get("width"), [float(n) for n in root.get("viewBox").split()]
    assert width.endswith("mm")
    scale = float(width[:-2]) / box[2]
    flip = lambda z: np.array([z.real, -z.imag]) * scale  # noqa: E731
    lines = []
    for layer in ("cut", "mark"):
        for found in document.paths_from_group([layer]):
            segments = []
            for piece in found:
                a, b = flip(piece.start), flip(piece.end)
                if isinstance(piece, svgpathtools.Line):
                    segments.append(straight(a, b))
                    continue
                assert isinstance(piece, svgpathtools.Arc), piece
                radius = piece.radius.real * scale
                start, sweep = np.radians(-piece.theta), np.radians(-piece.delta)
                segments.append(arc(flip(piece.center), radius, start, sweep, (a, b)))
            lines.append(assemble(layer.upper(), False, segments))
    return seat_at_origin(lines)


def read_pdf(path):
    [page] = pymupdf.open(path)
    height = page.rect.height
    lines = []
    for drawing in page.get_drawings():
        weight = drawing["width"] * MM_PER_POINT if drawing["width"] else 0.0
        layers = [("CUT", CUT_WEIGHT), ("MARK", MARK_WEIGHT)]
        layer = [name for name, expected in layers if abs(weight - expected) < 1e-3]
        if not layer or drawing["type"] != "s":
            continue
        segments = []
        for kind, *corners in drawing["items"]:
            corners = [np.array([p.x, height - p.y]) * MM_PER_POINT for p in corners]
            assert kind in "lc", kind
            segments.append(straight(*corners) if kind == "l" else cubic(corners))
        first, last = segments[0][0][0], segments[-1][0][-1]
        closed = len(segments) > 2 and np.linalg.norm(first - last) < 1e-3
        if drawing["closePath"] and not closed:
            segments.append(straight(last, first))
            closed = True
        lines.append(assemble(layer[0], closed, segments))
    return seat_at_origin(lines)
