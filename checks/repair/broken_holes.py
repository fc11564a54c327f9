"""Holes of every size and place."""

import numpy as np

from broken_form import SITES, Broken, case, is_top, site, within, without


@case("hole-of-one-triangle", "hole-filled", at="waist-outside", across=0)
@case("small-hole-on-the-vamp", "hole-filled", at="vamp", across=8, unit="m", file="obj")
@case("hole-on-the-instep", "hole-filled", at="instep", across=15, noise=0.1, unit="cm")
@case("hole-in-the-waist", "hole-filled", at="waist-outside", across=20, unit="in", file="stl")
@case("large-hole-in-the-waist", "hole-filled", at="waist-inside", across=34)
@case("hole-in-the-heel", "hole-filled", at="heel", across=15, noise=0.1)
@case("hole-in-the-side-of-the-heel", "hole-filled", at="heel-side", across=25, foot="left")
@case("hole-across-the-edge-inside", "hole-filled", at="edge-inside", across=14)
@case("hole-across-the-edge-outside", "hole-filled", at="edge-outside", across=20, noise=0.1)
@case("hole-at-the-seat-point", "hole-filled", at="seat", across=9)
@case("hole-at-the-toe-tip", "hole-filled", at="toe", across=9)
@case("hole-in-the-sole", "hole-filled", at="shank", across=25)
@case("hole-in-the-seat", "hole-filled", at="seat-sole", across=18, unit="cm")
@case("hole-in-the-tread", "hole-filled", at="tread", across=15, noise=0.1)
@case("hole-in-the-top", "hole-filled", at="top", across=15)
@case("hole-too-large-to-guess", refused=["hole", "across", "scan that part again"],
      at="waist-outside", across=48)
@case("half-the-instep-missing", refused=["open at the", "mm across", "scan it again"],
      at="waist-outside", across=75)
def hole(last, draw, at, across):
    """A round hole."""
    middle, _ = site(last, at)
    gone = within(last, middle, across / 2)
    if across == 0:
        gone[np.linalg.norm(last.triangles_center - middle, axis=1).argmin()] = True
        middle = last.triangles_center[gone][0]
    return Broken(without(last, gone), [middle], across / 2 + 3)


@case("five-holes", "hole-filled", noise=0.1,
      at=["vamp", "waist-inside", "shank", "heel-side", "instep"])
@case("twelve-holes", "hole-filled", unit="m", at=sorted(set(SITES) - {"seat", "toe"}))
def several_holes(last, draw, at):
    middles = [site(last, name)[0] for name in at]
    gone = sum(within(last, middle, draw.uniform(3, 6)) for middle in middles) > 0
    return Broken(without(last, gone), middles, 9)


@case("pinholes", "hole-filled", also=["points-joined", "touching-parted"], file="stl")
def pinholes(last, draw):
    """Sixty triangles missing all over."""
    gone = np.zeros(len(last.faces), bool)
    gone[draw.choice(len(last.faces), 60, replace=False)] = True
    return Broken(without(last, gone), list(last.triangles_center[gone]), 3)


@case("holes-touching-in-a-point", "hole-filled",
      also=["touching-parted", "points-joined"], unit="in")
def touching_holes(last, draw):
    """Two holes with one vertex between them."""
    middle, _ = site(last, "waist-outside")
    shared = np.linalg.norm(last.vertices - middle, axis=1).argmin()
    along = last.triangles_center - last.vertices[shared]
    fan = (last.faces == shared).any(axis=1)
    near = np.linalg.norm(along, axis=1) < 12
    gone = near & (np.abs(along[:, 0]) > np.abs(along[:, 2])) & ~fan
    own = np.flatnonzero(fan)
    # Of the fan one triangle goes on either side.
    gone[own[along[own, 0].argmin()]] = gone[own[along[own, 0].argmax()]] = True
    return Broken(without(last, gone), [middle], 16)


@case("open-top", "opening-left", openings=1, noise=0.1)
@case("open-top-and-a-hole", "opening-left", "hole-filled", openings=1, at="vamp")
@case("open-top-and-a-hole-in-the-heel", "opening-left", "hole-filled", openings=1, at="heel",
      unit="cm", file="obj")
def open_top(last, draw, at=None):
    gone = is_top(last)
    places = [last.triangles_center[gone].mean(axis=0)]
    if at:
        places.append(site(last, at)[0])
        gone = gone | within(last, places[1], 6)
    return Broken(without(last, gone), places, 9)


@case("open-top-torn-at-its-rim", "opening-left", openings=1)
def torn_top(last, draw):
    """The open top with a notch in its rim, down the inside."""
    gone = is_top(last)
    notch = np.array([50.0, 15.0, 77.0])
    notch = last.vertices[np.linalg.norm(last.vertices - notch, axis=1).argmin()]
    torn = gone | within(last, notch, 9)
    return Broken(without(last, torn), [last.triangles_center[gone].mean(axis=0)], 12)


@case("ragged-hole-in-a-noisy-scan", "hole-filled",
      also=["crumbs-removed", "touching-parted", "twisted-removed", "points-joined",
            "seams-closed"], noise=0.1)
def ragged_hole(last, draw):
    """Triangles missing more and more often towards a middle, islands left between."""
    middle, _ = site(last, "waist-outside")
    far = np.linalg.norm(last.triangles_center - middle, axis=1)
    gone = draw.random(len(far)) < np.clip(1.6 - far / 10, 0, 1)
    return Broken(without(last, gone), [middle], 18)


@case("slit", "hole-filled", also=["seams-closed", "touching-parted", "points-joined"])
def slit(last, draw):
    """One row of triangles missing, 60 mm long and three wide."""
    middle, _ = site(last, "waist-outside")
    to = last.triangles_center - middle
    gone = (np.abs(to[:, 0]) < 17) & (np.abs(to[:, 2]) < 1.8) & (last.triangles_center[:, 1] < 0)
    return Broken(without(last, gone), [middle], 20)


@case("sole-missing", refused=["open along", "bottom", "scan it again"], low=-30, facing=-0.8)
@case("only-the-sole", refused=["last"], low=-30, facing=-0.8, rest=True)
def sole(last, draw, low, facing, rest=False):
    """Everything that faces down, taken away or left alone."""
    down = (last.face_normals[:, 2] < facing) & (last.triangles_center[:, 2] < 5)
    return Broken(without(last, ~down if rest else down), [SITES["shank"]], 200)


@case("heel-half-alone", refused=["last"], axis=0, limit=120, above=False)
@case("toe-half-alone", refused=["last"], axis=0, limit=120, above=True, unit="cm")
@case("toe-missing", refused=["open at the toe", "scan it again"], axis=0, limit=215, above=False)
@case("heel-missing", refused=["open at the back", "scan it again"], axis=0, limit=35, above=True)
@case("inside-half-alone", refused=["open along", "wall", "scan it again"], axis=1, limit=0,
      above=True)
def part(last, draw, axis, limit, above):
    """What lies on one side of a plane; open there."""
    on = last.triangles_center[:, axis] > limit
    return Broken(without(last, on != above), [], 0)
