"""Finds the V's, slits and nicks in a bare cutting file: corners and open lines, no words."""

import dataclasses

import numpy as np
import shapely

# A corner turns by more than this, degrees; arcs of the outline are followed in finer steps.
CORNER = 25.0


@dataclasses.dataclass
class Vee:
    """A notch of the outline: where it opens (left, right) and its point."""

    mouth: np.ndarray
    point: np.ndarray

    @property
    def opening(self):
        return float(np.linalg.norm(self.mouth[1] - self.mouth[0]))

    @property
    def flanks(self):
        return np.linalg.norm(self.mouth - self.point, axis=1)


def counter_clockwise(ring):
    """A closed ring without its repeated end, turning left."""
    ring = ring[:-1] if np.allclose(ring[0], ring[-1]) else ring
    ring = ring[np.linalg.norm(ring - np.roll(ring, 1, axis=0), axis=1) > 1e-6]
    x, y = ring.T
    area = (x * np.roll(y, -1) - y * np.roll(x, -1)).sum()
    return ring if area > 0 else ring[::-1]


def vees(outline):
    """Notches of the outline: a sharp turn inward between two sharp turns outward."""
    ring = counter_clockwise(outline)
    before, after = ring - np.roll(ring, 1, axis=0), np.roll(ring, -1, axis=0) - ring
    turn = np.degrees(
        np.arctan2(before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0], (before * after).sum(1))
    )
    corners = np.flatnonzero(np.abs(turn) > CORNER)
    found = []
    for i, corner in enumerate(corners):
        neighbours = corners[[i - 1, (i + 1) % len(corners)]]
        if turn[corner] < -90.0 and (turn[neighbours] > CORNER).all():
            found.append(Vee(ring[neighbours], ring[corner]))
    return found


def split_cuts(outline, cuts):
    """Open cut lines as (mouth, inner end): the short ones are nicks, the long ones slits.

    A nick is the shortest cut there is; a slit is at least twice as long.
    """
    border = shapely.LineString(outline)
    found = []
    for cut in cuts:
        ends = sorted(cut[[0, -1]], key=lambda end: border.distance(shapely.Point(end)))
        assert border.distance(shapely.Point(ends[0])) < 0.05, "a cut begins in the edge"
        found.append(np.array(ends))
    lengths = np.array([np.linalg.norm(np.diff(ends, axis=0)) for ends in found])
    short = lengths < 1.3 * lengths.min()
    assert (lengths[~short] > 1.7 * lengths.min()).all(), lengths
    pick = lambda wanted: [ends for ends, keep in zip(found, wanted) if keep]  # noqa: E731
    return pick(short), pick(~short)


def decode(outline, cuts):
    """Which foot, which end is the inside, and which face is up, from the cut lines alone.

    The code as documented: one nick at the centre back; one on the outside wing; on the inside
    wing two for a left foot, three for a right one. With the top edge up and the outer face
    towards the eye, the inside of a right foot lies to the left.
    """
    ring = counter_clockwise(outline)
    border = shapely.LinearRing(ring)
    nicks, _ = split_cuts(outline, cuts)
    along = np.sort([border.project(shapely.Point(mouth)) for mouth, _ in nicks])
    # Begin after the longest run without a nick: that is the top edge. Going round a piece to
    # the left with its top up, the lower edge runs from the eye's left to its right.
    gaps = np.diff(np.append(along, along[0] + border.length))
    along = np.roll(along, -(int(np.argmax(gaps)) + 1))
    along = np.where(along < along[0], along + border.length, along)
    groups = np.split(along, np.flatnonzero(np.diff(along) > 8.0) + 1)
    counts = [len(group) for group in groups]
    assert len(counts) == 3 and counts[1] == 1, counts
    inside_left = counts[0] > counts[2]
    inside, outside = (counts[0], counts[2]) if inside_left else (counts[2], counts[0])
    assert outside == 1, counts
    foot = {2: "left", 3: "right"}[inside]
    face_up = inside_left == (foot == "right")
    return foot, "left" if inside_left else "right", "outer" if face_up else "inner"
