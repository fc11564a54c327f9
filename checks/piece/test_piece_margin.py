"""The lasting margin: nicks read without words, V's and slits measured, the fold simulated."""

import numpy as np
import pytest
import shapely

from piece_files import nearest
from piece_margin import decode, split_cuts, vees

CASES = [
    # EU size, foot, heel height, edge radius
    (36, "right", 25, 0),
    (39, "left", 45, 0),
    (42, "right", 15, 2),
    (46, "left", 35, 0),
]
# Defaults of a cemented shoe, mm: insole edge, net margin, lining and half of 2.5 mm leather.
INSOLE, NET, NEUTRAL = 2.0, 13.5, 2.25
# Used up by the rounding: about 1.6 x what lies beneath. Common practice, no source.
ROUNDING = 1.6 * NEUTRAL
# Points stay this far inside the insole edge, mm. Common practice, no source.
CLEARANCE = 2.0
# The bend of the seat is over before this far along the feather line, mm.
ROUND_THE_SEAT = 90.0
# Arcs stand for the lines within a hundredth of a millimetre.
ARCS = 0.03


@pytest.fixture(scope="module", params=CASES, ids=lambda c: "eu{}-{}-h{}-r{}".format(*c))
def piece(request, drafted):
    return drafted(*request.param)


def turned(points, angle, mirror):
    flip = np.array([-1.0 if mirror else 1.0, 1.0])
    c, s = np.cos(angle), np.sin(angle)
    return points * flip @ np.array([[c, s], [-s, c]]) + (300.0, -70.0)


@pytest.mark.parametrize("name", ["dxf", "svg", "pdf"])
@pytest.mark.parametrize("angle", [0.0, 2.1])
@pytest.mark.parametrize("mirror", [False, True], ids=["face-up", "face-down"])
def test_nicks_tell_foot_side_and_face(piece, name, angle, mirror):
    pattern = piece.patterns[name]
    outline = turned(pattern.outline.points, angle, mirror)
    cuts = [turned(cut.points, angle, mirror) for cut in pattern.cuts]
    foot, inside, face = decode(outline, cuts)
    assert foot == piece.foot
    assert face == ("inner" if mirror else "outer")
    # Seen from outside, top up, the inside of a right foot lies to the left.
    assert (inside == "left") == ((piece.foot == "right") != mirror)


def test_decoder_refuses_a_piece_without_its_nicks(piece):
    """The decoder can fail: without the inside nicks there is no answer."""
    pattern = piece.patterns["dxf"]
    nicks, _ = split_cuts(pattern.outline.points, [cut.points for cut in pattern.cuts])
    inside = -1.0 if piece.foot == "right" else 1.0
    kept = [nick for nick in nicks if nick[0][0] * inside < 5.0]
    with pytest.raises((AssertionError, KeyError)):
        decode(pattern.outline.points, kept)


def test_cuts_stay_inside_the_insole_edge(piece):
    pattern = piece.patterns["dxf"]
    nicks, slits = split_cuts(pattern.outline.points, [cut.points for cut in pattern.cuts])
    notches = vees(pattern.outline.points)
    assert len(nicks) == (5 if piece.foot == "right" else 4)
    assert len(notches) >= 2
    points = [vee.point for vee in notches] + [cut[1] for cut in nicks + slits]
    for point in points:
        from_insole = nearest(pattern.feather.points, point) - INSOLE
        assert from_insole >= CLEARANCE - ARCS, point
    for vee in notches:
        assert abs(vee.point[0]) > 2.0, "a V points at the centre back"
    for cut in slits:
        assert abs(cut[1][0]) > 2.0, "a slit at the centre back"


def test_vees_do_not_overlap(piece):
    outline = piece.patterns["dxf"].outline.points
    notches = sorted(vees(outline), key=lambda vee: vee.point[0])
    triangles = [shapely.Polygon([*vee.mouth, vee.point]) for vee in notches]
    for a, b in zip(triangles, triangles[1:]):
        assert a.distance(b) > 1.5, "the tongue between two V's tears off"
    nicks, slits = split_cuts(outline, [cut.points for cut in piece.patterns["dxf"].cuts])
    for mouth, inner in nicks + slits:
        line = shapely.LineString([mouth, inner])
        assert min(line.distance(triangle) for triangle in triangles) > 1.5
    for vee in notches:
        # Closed, the two flanks lie on each other and end together.
        assert abs(vee.flanks[0] - vee.flanks[1]) < 1.5, vee
        angle = 2 * np.degrees(np.arcsin(vee.opening / vee.flanks.sum()))
        assert angle < 60.0


class Fold:
    """The margin of one piece folded under: flat stations and their places under the insole."""

    def __init__(self, piece):
        flat, on = piece.surface("flat"), piece.surface("on-last")
        self.outline = piece.patterns["dxf"].outline.points
        chain = flat.lines["feather_line"]
        seat = list(chain).index(flat.lines["centre_back"][0])
        self.flat, self.plan = flat.vertices[chain, :2], on.vertices[chain, :2]
        steps = np.linalg.norm(np.diff(self.flat, axis=0), axis=1)
        along = np.concatenate([[0.0], np.cumsum(steps)])
        self.along = np.arange(along[0], along[-1], 0.5) - along[seat]
        pick = lambda line: np.column_stack(  # noqa: E731
            [np.interp(self.along + along[seat], along, line[:, k]) for k in (0, 1)]
        )
        self.flat, self.plan = pick(self.flat), pick(self.plan)

    @staticmethod
    def right_normals(line, reach=12):
        n = np.arange(len(line))
        chord = line[np.minimum(n + reach, len(line) - 1)] - line[np.maximum(n - reach, 0)]
        chord /= np.linalg.norm(chord, axis=1)[:, None]
        return np.column_stack([chord[:, 1], -chord[:, 0]])

    def outer(self):
        """The uncut outer edge below every station."""
        return self.flat + self.right_normals(self.flat) * (INSOLE + ROUNDING + NET)

    def under(self):
        """Where the edge comes to lie: in plan, inward of the feather line by the net margin."""
        return self.plan - self.right_normals(self.plan) * NET

    def fold_line(self):
        return self.flat + self.right_normals(self.flat) * (INSOLE + ROUNDING)


@pytest.mark.parametrize("side", [-1, 1], ids=["left", "right"])
def test_folded_under_the_lengths_fit(piece, side):
    """Per side, what the flat edge is too long for its place is what the V's take away."""
    fold = Fold(piece)
    steps = [np.linalg.norm(np.diff(line, axis=0), axis=1) for line in (fold.outer(), fold.under())]
    seat = int(np.argmin(np.abs(fold.along)))
    excess = steps[0] - steps[1]
    excess = np.cumsum(excess[seat:]) if side > 0 else np.cumsum(excess[:seat][::-1])
    opened = [vee.opening for vee in vees(fold.outline) if vee.point[0] * side > 0]
    # Round the seat; further out the margin is short over the hollow of the waist, then runs out.
    assert sum(opened) == pytest.approx(excess[: int(ROUND_THE_SEAT / 0.5)].max(), abs=1.0)


def test_closed_vees_bring_the_tongues_together(piece):
    """Each tongue is laid rigidly under the insole by its fold; neighbours meet, none cross."""
    fold = Fold(piece)
    notches = sorted(vees(fold.outline), key=lambda vee: vee.point[0])
    line, plan = fold.fold_line(), fold.plan
    at = [int(np.argmin(np.linalg.norm(line - vee.point, axis=1))) for vee in notches]
    corners = []
    for (i, left), (j, right) in zip(zip(at, notches), zip(at[1:], notches[1:])):
        a, b = line[i : j + 1], plan[i : j + 1]
        # Rigid: the long directions of both are laid on each other.
        a0, b0 = a.mean(0), b.mean(0)
        mirror = np.diag([1.0, -1.0])
        direction = np.linalg.svd(a - a0)[2][0] * np.sign((a[-1] - a[0]) @ np.linalg.svd(a - a0)[2][0])
        goal = np.linalg.svd(b - b0)[2][0] * np.sign((b[-1] - b[0]) @ np.linalg.svd(b - b0)[2][0])
        frame = np.array([direction, [direction[1], -direction[0]]])
        target = np.array([goal, [goal[1], -goal[0]]])
        # Right of the fold on the flat piece is outward; folded, it is inward: mirrored.
        lay = frame.T @ mirror @ target
        place = lambda p: (p - a0) @ lay + b0  # noqa: B023,E731
        corners.append((place(left.mouth[1]), place(right.mouth[0]), goal))
    gaps = [float((b[0] - a[1]) @ (a[2] + b[2]) / 2) for a, b in zip(corners, corners[1:])]
    # Nearer than that a hammer closes them; over each other they would make a lump.
    assert min(gaps) > -1.5, gaps
    assert max(gaps) < 2.5, gaps
