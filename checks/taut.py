"""A taut tape, by other means than the program's: trimesh cuts, scipy's qhull pulls it tight."""

import numpy as np
from scipy.spatial import ConvexHull


def tape(mesh, origin, normal):
    """The girth in a plane: the perimeter of the convex hull of the section."""
    section = mesh.section(normal, origin)
    flat = np.linalg.svd(np.asarray(normal)[None])[2][1:]
    return ConvexHull(section.vertices @ flat.T).area
