"""Spherical caps, where the best flat maps are known.

The plain layout against the least energy of any radial map, a problem of one dimension that
scipy solves here; the layout for the worst strain against the equidistant azimuthal map, which
has the least range of scales (J. Milnor, "A Problem in Cartography", 1969).
"""

import numpy as np
import pytest
from scipy.optimize import minimize

import energy
import surfaces
from test_flatten import flatten

RADIUS = 40.0
OPENINGS = [15, 20, 30, 40]


def cap(opening, fineness=25):
    """A cap of some 4400 triangles, whatever its opening; `fineness` of them from top to edge."""
    spacing = RADIUS * np.radians(opening) / fineness
    return surfaces.cap(spacing=spacing, radius=RADIUS, opening=opening)


def equidistant(vertices):
    """Every point at its distance from the top along the sphere, in its own direction."""
    across = np.linalg.norm(vertices[:, :2], axis=1)
    along = RADIUS * np.arctan2(across, vertices[:, 2])
    return vertices[:, :2] * (along / np.maximum(across, 1e-12))[:, None]


def least_radial_energy(opening, rings=400):
    """The least mean of (s - 1/s)² over both scales, of all maps r(theta) of a cap of radius 1."""
    angle = np.linspace(0, np.radians(opening), rings + 1)
    middle, step = (angle[1:] + angle[:-1]) / 2, angle[1]
    weight = np.cos(angle[:-1]) - np.cos(angle[1:])
    weight = weight / weight.sum()

    def cost(log_slopes):
        """By the logarithms of r' on each ring; also its gradient."""
        slopes = np.exp(log_slopes)
        ends = np.concatenate([[0], np.cumsum(slopes * step)])
        around = (ends[1:] + ends[:-1]) / 2 / np.sin(middle)
        value = weight @ ((slopes - 1 / slopes) ** 2 + (around - 1 / around) ** 2)
        by_slope = weight * 2 * (slopes - slopes**-3)
        by_radius = weight * 2 * (around - around**-3) / np.sin(middle)
        outside = np.concatenate([np.cumsum(by_radius[::-1])[::-1][1:], [0]])
        return value, slopes * (by_slope + step * (outside + by_radius / 2))

    found = minimize(
        cost,
        np.zeros(rings),
        jac=True,
        method="L-BFGS-B",
        options={"maxiter": 10_000, "ftol": 1e-15, "gtol": 1e-12},
    )
    assert found.success
    return found.fun


def range_of_scales(vertices, triangles, flat):
    """From the 1st to the 99th percentile of the area, of the logarithms of all scales."""
    rest, area = energy.rest_frames(vertices, triangles)
    scales = np.linalg.svd(energy.jacobians(rest, triangles, flat), compute_uv=False)
    logs, weight = np.log(scales).ravel(), np.repeat(area, 2)
    order = np.argsort(logs)
    below = np.cumsum(weight[order]) / weight.sum()
    low, high = (logs[order][np.searchsorted(below, part)] for part in (0.01, 0.99))
    return high - low


def test_the_radial_problem_is_solved():
    """Finer rings do not change the least energy, and it is well below that of the equidistant
    map, whose scales 1 and theta/sin(theta) are known."""
    for opening in OPENINGS:
        least = least_radial_energy(opening)
        assert least == pytest.approx(least_radial_energy(opening, rings=200), rel=1e-4)
        theta = np.linspace(1e-6, np.radians(opening), 20_001)
        stretch = theta / np.sin(theta)
        mean = np.trapezoid((stretch - 1 / stretch) ** 2 * np.sin(theta), theta)
        assert least < 0.6 * mean / (1 - np.cos(np.radians(opening)))


@pytest.mark.parametrize("opening", OPENINGS)
def test_the_plain_energy_is_that_of_the_best_radial_map(flatten, opening):
    # Flat triangles cost a part of the energy that falls with the square of their size: 0.6 %
    # at a fineness of 25.
    vertices, triangles = cap(opening, fineness=40)
    report, _ = flatten(vertices, triangles)
    assert report["energy"] == pytest.approx(least_radial_energy(opening), rel=0.005)


@pytest.mark.parametrize("opening", OPENINGS)
def test_the_range_of_scales_is_near_the_least_there_is(flatten, opening):
    vertices, triangles = cap(opening)
    ideal = range_of_scales(vertices, triangles, equidistant(vertices))
    angle = np.radians(opening)
    # The mesh adds its own error to the least range, and the trimming takes little away.
    assert 0.98 < ideal / np.log(angle / np.sin(angle)) < 1.05
    _, flat = flatten(vertices, triangles, "--worst-strain")
    ours = range_of_scales(vertices, triangles, flat)
    assert 0.98 * ideal < ours < 1.10 * ideal
