"""Bodies on what they stand on, made with trimesh and shapely."""

import numpy as np
import shapely
import shapely.geometry as sg
import trimesh


def stood(body, upside_down):
    """The body with its lowest point (its flat top, when upside down) at z = 0."""
    body = body.copy()
    if upside_down:
        body.apply_transform(trimesh.transformations.rotation_matrix(np.pi, [1, 0, 0]))
    body.apply_translation([0, 0, -body.bounds[0, 2]])
    return body


def posed(mesh, seed):
    """The mesh in a pose drawn from the seed, and the 4 x 4 matrix that led there."""
    draw = np.random.default_rng(seed)
    matrix = trimesh.transformations.random_rotation_matrix(draw.random(3))
    matrix[:3, 3] = draw.normal(size=3) * 300
    mesh = mesh.copy()
    mesh.apply_transform(matrix)
    return mesh, matrix


def noisy(mesh, deviation, seed=1):
    """Normal noise on every coordinate."""
    mesh = mesh.copy()
    draw = np.random.default_rng(seed)
    mesh.vertices = mesh.vertices + draw.normal(size=mesh.vertices.shape) * deviation
    return mesh


def sheeted(body, size, height=0.3, round_plate=False, thickness=0.0, edge=None):
    """One surface of the body above `height` and a plate around it there.

    Without a thickness the plate is a sheet seen from above only. `edge` divides its long
    triangles.
    """
    above = body.slice_plane([0, 0, height], [0, 0, 1])
    cut = body.section(plane_origin=[0, 0, height], plane_normal=[0, 0, 1])
    foot = shapely.union_all([sg.Polygon(line[:, :2]).buffer(0) for line in cut.discrete])
    middle, half = foot.centroid, size / 2
    if round_plate:
        plate = middle.buffer(half, 32)
    else:
        plate = sg.box(middle.x - half, middle.y - half, middle.x + half, middle.y + half)
    parts = [above, flat(plate.difference(foot), height)]
    if thickness:
        under = flat(plate, height - thickness)
        under.invert()
        parts += [under, wall(plate, height - thickness, height)]
    whole = trimesh.util.concatenate(parts)
    whole.merge_vertices(digits_vertex=5)
    whole.update_faces(whole.nondegenerate_faces(height=1e-9))
    if edge:
        vertices, faces = trimesh.remesh.subdivide_to_size(whole.vertices, whole.faces, edge)
        whole = trimesh.Trimesh(vertices, faces, process=False)
        whole.merge_vertices(digits_vertex=6)
    return whole


def flat(polygon, z):
    """The polygon as a mesh facing up."""
    pieces = shapely.constrained_delaunay_triangles(polygon).geoms
    corners = np.array([np.array(sg.polygon.orient(t).exterior.coords)[:3] for t in pieces])
    vertices = np.c_[corners.reshape(-1, 2), np.full(3 * len(corners), z)]
    return trimesh.Trimesh(vertices, np.arange(len(vertices)).reshape(-1, 3), process=False)


def wall(polygon, low, high):
    """The side of a prism over the polygon, facing out."""
    line = np.array(sg.polygon.orient(polygon).exterior.coords)[:-1]
    n = len(line)
    k, j = np.arange(n), (np.arange(n) + 1) % n
    vertices = np.vstack([np.c_[line, np.full(n, low)], np.c_[line, np.full(n, high)]])
    return trimesh.Trimesh(vertices, np.vstack([np.c_[k, j, j + n], np.c_[k, j + n, k + n]]))
