"""Heights read on a last as with a ruler: along plane sections square to the feather line.

Sections by trimesh; as a second way exact geodesic distances by libigl (the algorithm of
Mitchell, Mount and Papadimitriou 1987).
"""

import igl
import numpy as np
import trimesh

# Half the length of feather line over which its direction is taken, mm.
REACH = 6.0
# Near a wing end the plane would leave the piece, mm.
ENDS = 4.0


class FeatherLine:
    """An open feather line by its length, from the left wing end to the right."""

    def __init__(self, points):
        self.points = points
        steps = np.linalg.norm(np.diff(points, axis=0), axis=1)
        self.along = np.concatenate([[0.0], np.cumsum(steps)])
        self.dense = np.arange(0.0, self.along[-1], 0.5)
        self.spots = np.array([self.at(along) for along in self.dense])

    def at(self, along):
        return np.array([np.interp(along, self.along, self.points[:, k]) for k in range(3)])

    def direction(self, along):
        """Towards the right wing end, a chord about the place."""
        reach = min(REACH, max(along, 1.0), max(self.along[-1] - along, 1.0))
        chord = self.at(along + reach) - self.at(along - reach)
        return chord / np.linalg.norm(chord)

    def below(self, place):
        """Where the plane square to the line and through `place` meets it."""
        along = self.dense[np.argmin(np.linalg.norm((self.spots - place)[:, :2], axis=1))]
        for _ in range(80):
            step = 0.6 * (place - self.at(along)) @ self.direction(along)
            along = min(max(along + step, 0.0), self.along[-1])
            if abs(step) < 1e-6:
                break
        return along


def section(mesh, origin, normal):
    """The segments in which a plane cuts a mesh, chained into polylines."""
    segments = trimesh.intersections.mesh_plane(mesh, normal, origin)
    ends = segments.reshape(-1, 3)
    _, number = np.unique(np.round(ends, 6), axis=0, return_inverse=True)
    number = number.reshape(-1, 2)
    place = np.zeros((number.max() + 1, 3))
    place[number.ravel()] = ends
    beside = {}
    for a, b in number:
        if a != b:
            beside.setdefault(a, set()).add(b)
            beside.setdefault(b, set()).add(a)
    left, chains = set(beside), []
    while left:
        ends_left = [n for n in left if len(beside[n] & left) == 1 and len(beside[n]) != 2]
        now = min(ends_left) if ends_left else min(left)
        chain = [now]
        left.discard(now)
        while following := beside[now] & left:
            now = min(following)
            chain.append(now)
            left.discard(now)
        if not ends_left and len(chain) > 2 and chain[0] in beside[chain[-1]]:
            chain.append(chain[0])
        chains.append(place[chain])
    return chains


def project(chain, place):
    """Distance of a place from a chain, and the length along the chain to the nearest point."""
    a, d = chain[:-1], np.diff(chain, axis=0)
    squares = (d * d).sum(1)
    t = (((place - a) * d).sum(1) / np.where(squares > 0, squares, 1.0)).clip(0, 1)
    apart = np.linalg.norm(place - a - t[:, None] * d, axis=1)
    i = int(np.argmin(apart))
    steps = np.sqrt(squares)
    return apart[i], steps[:i].sum() + t[i] * steps[i]


def between(mesh, low, high, normal):
    """Length of the section through `low` square to `normal`, from `low` to `high`.

    Both must lie on it; the way taken is the shorter one. Also returns how far off they lie.
    """
    best = None
    for chain in section(mesh, low, normal):
        if len(chain) < 2:
            continue
        (off_low, at_low), (off_high, at_high) = project(chain, low), project(chain, high)
        way = abs(at_high - at_low)
        if np.allclose(chain[0], chain[-1]):
            whole = np.linalg.norm(np.diff(chain, axis=0), axis=1).sum()
            way = min(way, whole - way)
        off = max(off_low, off_high)
        if best is None or off < best[1]:
            best = way, off
    assert best is not None, "the plane does not cut the surface"
    return best


def with_middles(values):
    """The values, and between each two their mean."""
    both = np.repeat(values, 2, axis=0)
    return (both[:-1] + both[1:]) / 2


def edge_profile(surface, mesh=None):
    """Every vertex of the free edge, and every middle between two, but those on the wing ends.

    The heights are taken on the piece itself, or on another mesh of the same surface.
    Returns their numbers along the free edge, vertices and middles by turns, their places, the
    lengths along the feather line below them from the seat (right positive), and the
    heights up the section from the feather line.
    """
    feather = FeatherLine(surface.line("feather_line"))
    seat = feather.along[list(surface.lines["feather_line"]).index(surface.lines["centre_back"][0])]
    numbers, places, along, heights = [], [], [], []
    for number, place in enumerate(with_middles(surface.line("free_edge"))):
        at = feather.below(place)
        if not ENDS <= at <= feather.along[-1] - ENDS:
            continue
        low = feather.at(at)
        # The foot of the ruler lies on the border, between vertices: the section by the place.
        height, off = between(mesh or surface.mesh, place, low, feather.direction(at))
        assert off < 0.25, (place, low, off)
        numbers.append(number)
        places.append(place)
        along.append(at - seat)
        heights.append(height)
    return np.array(numbers), np.array(places), np.array(along), np.array(heights)


def geodesic_heights(surface):
    """Exact shortest distances over the surface from the free edge to the feather line.

    For each vertex, and the mean of both for each middle between two.
    """
    none = np.zeros(0, dtype=np.int64)
    at_vertices = igl.exact_geodesic(
        surface.vertices,
        surface.faces.astype(np.int64),
        surface.lines["feather_line"].astype(np.int64),
        none,
        surface.lines["free_edge"].astype(np.int64),
        none,
    )
    return with_middles(at_vertices)
