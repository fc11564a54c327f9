"""Reads the lines of each format with its own independent readers, all in millimetres, y up."""

import ezdxf
import ezdxf.math
import numpy as np
import pymupdf
import svgpathtools

MM = 25.4 / 72.0
CUT_WEIGHT = 0.25


def bezier(corners, n=64):
    t = np.linspace(0.0, 1.0, n + 1)[:, None]
    a, b, c, d = (np.array([p.x, p.y]) for p in corners)
    s = 1.0 - t
    return s**3 * a + 3 * s**2 * t * b + 3 * s * t**2 * c + t**3 * d


def pdf_path(drawing, height):
    """The points of one path of PyMuPDF's get_drawings."""
    parts = []
    for item in drawing["items"]:
        if item[0] == "l":
            parts.append(np.array([[p.x, p.y] for p in item[1:3]]))
        elif item[0] == "c":
            parts.append(bezier(item[1:5]))
        elif item[0] == "re":
            r = item[1]
            parts.append(np.array([[r.x0, r.y0], [r.x1, r.y0], [r.x1, r.y1], [r.x0, r.y1], [r.x0, r.y0]]))
        elif item[0] == "qu":
            q = item[1]
            parts.append(np.array([[p.x, p.y] for p in (q.ul, q.ur, q.lr, q.ll, q.ul)]))
    if drawing.get("closePath"):
        parts.append(parts[0][:1])
    points = np.vstack(parts)
    return np.column_stack([points[:, 0], height - points[:, 1]]) * MM


def pdf_paths(page, weight=None):
    """(weight in mm, points) of every stroked path, in the order in which they are drawn."""
    found = [
        (d["width"] * MM, pdf_path(d, page.rect.height))
        for d in page.get_drawings()
        if d["type"] == "s"
    ]
    if weight is None:
        return found
    return [(w, p) for w, p in found if abs(w - weight) < 1e-3]


def svg_paths(file, chords=2000):
    """Points of every path, scaled by what the file says of its size."""
    paths, _, root = svgpathtools.svg2paths2(str(file))
    width, box = root["width"], [float(n) for n in root["viewBox"].split()]
    assert width.endswith("mm")
    scale = float(width[:-2]) / box[2]
    result = []
    for path in paths:
        parts = []
        for piece in path:
            n = chords if isinstance(piece, svgpathtools.Arc) else 1
            parts.append([piece.point(i / n) for i in range(n)] + [piece.end])
        points = np.concatenate(parts)
        result.append(np.column_stack([points.real, -points.imag]) * scale)
    return result


def bulged(start, end, bulge, n=2000):
    """Points of an arc as ezdxf understands its bulge, the end left out."""
    if bulge == 0.0:
        return np.array([[start.x, start.y]])
    center, from_angle, to_angle, radius = ezdxf.math.bulge_to_arc(start, end, bulge)
    if to_angle < from_angle:
        to_angle += 2.0 * np.pi
    angles = np.linspace(from_angle, to_angle, n + 1)
    if bulge < 0.0:
        angles = angles[::-1]
    circle = np.column_stack([np.cos(angles), np.sin(angles)])
    return (np.array([center.x, center.y]) + radius * circle)[:-1]


def dxf_paths(file):
    """(layer, closed, points) of every polyline, in the unit the file states."""
    document = ezdxf.readfile(file)
    assert document.units == ezdxf.units.MM
    result = []
    for entity in document.modelspace().query("POLYLINE"):
        corners = [(v.dxf.location.vec2, v.dxf.get("bulge", 0.0)) for v in entity.vertices]
        if entity.is_closed:
            corners.append(corners[0])
        pairs = zip(corners, corners[1:])
        parts = [bulged(at, following, bulge) for (at, bulge), (following, _) in pairs]
        last = corners[-1][0]
        points = np.vstack([*parts, [[last.x, last.y]]])
        result.append((entity.dxf.layer, entity.is_closed, points))
    return result


def length(points):
    return float(np.linalg.norm(np.diff(points, axis=0), axis=1).sum())


def open_pdf(file):
    return pymupdf.open(file)
