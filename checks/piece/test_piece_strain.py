"""The strain in the report, computed again by numpy from the written surfaces."""

import numpy as np
import pytest
import trimesh

CASES = [(39, "right", 25, 0), (42, "left", 35, 2)]
# Our own preset for wet leather: how far it stretches and can be compressed, percent. Common
# practice, no source.
STRETCH, COMPRESS = 10.0, 4.0


@pytest.fixture(scope="module", params=CASES, ids=lambda case: f"EU {case[0]} {case[1]}")
def piece(request, drafted):
    return drafted(*request.param)


def singular_values(lies, flat):
    """Of the map of each triangle from where the piece lies to the flat piece; and the areas."""
    a, b, c = (lies.vertices[lies.faces[:, k]] for k in range(3))
    x = (b - a) / np.linalg.norm(b - a, axis=1)[:, None]
    normal = np.cross(b - a, c - a)
    y = np.cross(normal, x) / np.linalg.norm(normal, axis=1)[:, None]
    solid = np.stack(
        [np.stack([((p - a) * axis).sum(1) for axis in (x, y)], 1) for p in (b, c)], 2
    )
    d, e, f = (flat.vertices[flat.faces[:, k], :2] for k in range(3))
    plane = np.stack([e - d, f - d], 2)
    values = np.linalg.svd(plane @ np.linalg.inv(solid), compute_uv=False)
    return values, np.linalg.norm(normal, axis=1) / 2


def test_strain_is_what_the_surfaces_say(piece):
    values, area = singular_values(piece.surface("where-it-lies"), piece.surface("flat"))
    off = 100 * np.abs(values - 1)
    order = np.argsort(off.max(1))
    below = np.cumsum(area[order]) / area.sum()
    at = [off.max(1)[order][np.searchsorted(below, part)] for part in (0.95, 0.99)]
    said = piece.report["strain"]
    assert said["mean"] == pytest.approx((area @ off.mean(1)) / area.sum(), abs=0.005)
    assert [said["p95"], said["p99"]] == pytest.approx(at, abs=0.05)
    # The sheet is pulled onto the surface: the other way round.
    pulled = 100 * (1 / values - 1)
    beyond = ((pulled > STRETCH) | (pulled < -COMPRESS)).any(1)
    assert 1 < said["area_over_limit"] < 40
    assert said["area_over_limit"] == pytest.approx(100 * area[beyond].sum() / area.sum(), abs=0.1)


def test_its_triangles_are_told(piece):
    said, surface = piece.report["triangles"], piece.surface("on-last")
    assert said["count"] == len(surface.faces)
    # Even, about 2 mm: half of them within a fifth of the median.
    sides = surface.vertices[surface.faces[:, [1, 2, 0]]] - surface.vertices[surface.faces]
    lengths = np.linalg.norm(sides, axis=2).ravel()
    assert 1.0 < np.median(lengths) < 2.2 and lengths.max() < 4.0
    # No part of the triangles is further from the last than told, and they are on it.
    places = surface.vertices[surface.faces].mean(1)
    away = trimesh.proximity.closest_point(piece.last, places)[1]
    assert away.max() <= said["off_scan"] + 0.02
