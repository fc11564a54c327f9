"""Help for the checks of what is drawn on surfaces: points put into a mesh, one by one."""

import numpy as np

# Nearer than this to a vertex or an edge, mm, a point is on it: slivers mislead other programs.
SNAP = 1e-7


def cross(u, v):
    # numpy's own takes ten times as long on single vectors.
    (a, b, c), (d, e, f) = u.tolist(), v.tolist()
    return np.array([b * f - c * e, c * d - a * f, a * e - b * d])


def barycentric(corners, place):
    """Weights of the point of the triangle's plane that is nearest to `place`."""
    a, b, c = corners
    n = cross(b - a, c - a)
    whole = n @ n
    u = cross(c - b, place - b) @ n / whole
    v = cross(a - c, place - c) @ n / whole
    return np.array([u, v, 1 - u - v])


class Inserted:
    """A mesh whose triangles are split, at places on its surface, into triangles of the same
    planes: one in three inside a triangle, two in four on an edge."""

    def __init__(self, vertices, triangles):
        self.vertices = [np.array(v, float) for v in vertices]
        self.triangles = [tuple(int(i) for i in t) for t in triangles]
        self.edges = {}
        for f, t in enumerate(self.triangles):
            self._file(f, t)
        # The pieces of each old triangle.
        self.pieces = {f: {f} for f in range(len(self.triangles))}
        self.parent = list(range(len(self.triangles)))

    def _file(self, f, t):
        for k in range(3):
            self.edges[t[k], t[(k + 1) % 3]] = f

    def _replace(self, f, pieces):
        t = self.triangles[f]
        for k in range(3):
            del self.edges[t[k], t[(k + 1) % 3]]
        for n, piece in enumerate(pieces):
            g = f if n == 0 else len(self.triangles)
            if n == 0:
                self.triangles[f] = piece
            else:
                self.triangles.append(piece)
                self.parent.append(self.parent[f])
                self.pieces[self.parent[f]].add(g)
            self._file(g, piece)

    def put(self, face, place):
        """The vertex at a place in old triangle `face`, made if there is none."""
        best = None
        for f in sorted(self.pieces[face]):
            corners = [self.vertices[v] for v in self.triangles[f]]
            weights = barycentric(corners, place)
            if best is None or weights.min() > best[0]:
                best = weights.min(), f, corners, weights
        _, f, corners, weights = best
        t = self.triangles[f]
        for k in range(3):
            if np.linalg.norm(corners[k] - place) < SNAP:
                return t[k]
        new = len(self.vertices)
        area = np.linalg.norm(cross(corners[1] - corners[0], corners[2] - corners[0]))
        sides = [np.linalg.norm(corners[(k + 2) % 3] - corners[(k + 1) % 3]) for k in range(3)]
        heights = [weights[k] * area / sides[k] for k in range(3)]
        self.vertices.append(np.array(place, float))
        k = int(np.argmin(heights))
        if heights[k] > SNAP:
            a, b, c = t
            self._replace(f, [(a, b, new), (b, c, new), (c, a, new)])
            return new
        # On the side across from corner k.
        a, b = t[(k + 1) % 3], t[(k + 2) % 3]
        other = self.edges.get((b, a))
        self._replace(f, [(t[k], a, new), (t[k], new, b)])
        if other is not None:
            far = next(v for v in self.triangles[other] if v not in (a, b))
            self._replace(other, [(far, b, new), (far, new, a)])
        return new

    def arrays(self):
        return np.array(self.vertices), np.array(self.triangles)


def resampled(places, step, closed=False):
    """Points at most `step` mm apart along a polyline, its own points among them."""
    places = np.asarray(places, float)
    if closed:
        places = np.vstack([places, places[:1]])
    out = []
    for a, b in zip(places[:-1], places[1:]):
        n = max(1, int(np.ceil(np.linalg.norm(b - a) / step)))
        out += [a + (b - a) * i / n for i in range(n)]
    return np.array(out + ([] if closed else [places[-1]]))


def any_points(mesh, count, random):
    """Random points as [face, a, b, c], and their places: triangles by area."""
    faces = random.choice(len(mesh.faces), count, p=mesh.area_faces / mesh.area_faces.sum())
    weights = random.dirichlet([1, 1, 1], count)
    places = np.einsum("ij,ijk->ik", weights, mesh.triangles[faces])
    return [[int(f), *map(float, w)] for f, w in zip(faces, weights)], faces, places


def near(mesh, place):
    """The vertex nearest to a place, as a point."""
    return [int(np.argmin(np.linalg.norm(mesh.vertices - place, axis=1)))]
