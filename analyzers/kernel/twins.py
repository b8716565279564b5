"""Finds bodies that are the same solid written several times, moved but not mirrored."""

import numpy as np

from analyzers.model.arrays import Floats
from analyzers.model.part import Part
from analyzers.tolerance import SAME_PLACE_MM


def same_solid(first: Part, second: Part) -> bool:
    """Return whether one part is the other, moved and turned (never mirrored), faces in the same order.

    Writers that copy a body keep its face order, so row i is compared with row i: the best rigid motion is fitted to
    face centroids and vertices (Kabsch 1976) and must bring all of them together within SAME_PLACE_MM.
    """
    if first.n_faces != second.n_faces or len(first.vertex_mm) != len(second.vertex_mm):
        return False
    if not np.array_equal(first.face_surface, second.face_surface):
        return False
    if not np.allclose(first.face_area_mm2, second.face_area_mm2, rtol=1e-6, atol=SAME_PLACE_MM**2):
        return False
    here = np.concatenate([first.face_centroid_mm, first.vertex_mm])
    there = np.concatenate([second.face_centroid_mm, second.vertex_mm])
    return _largest_gap(here, there) <= SAME_PLACE_MM


def _largest_gap(here: Floats, there: Floats) -> float:
    """Return the largest distance left between paired (N, 3) points after the best rotation and shift."""
    a, b = here - here.mean(axis=0), there - there.mean(axis=0)
    u, _, vt = np.linalg.svd(a.T @ b)
    proper = np.diag([1.0, 1.0, np.sign(np.linalg.det(u @ vt))])
    return float(np.linalg.norm(a @ (u @ proper @ vt) - b, axis=1).max())
