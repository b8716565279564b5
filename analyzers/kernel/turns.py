"""How far round its axis, and where along it, each round face reaches."""

import math

import numpy as np

from analyzers.model.arrays import Floats, Ints, unit
from analyzers.model.part import Mesh, Surface
from analyzers.tolerance import FULL_TURN_DEG

_ROUND = (Surface.CYLINDER, Surface.CONE, Surface.TORUS, Surface.SPHERE)


def spans(mesh: Mesh, surface: Ints, origin: Floats, axis: Floats) -> tuple[Floats, Floats]:
    """Return (F,) turn about the axis in degrees and (F, 2) lowest and highest place along it; nan for other faces.

    Taken from the triangulation, whose corners lie exactly on the face's border.
    """
    n = len(surface)
    turn, along = np.full(n, math.nan), np.full((n, 2), math.nan)
    first = np.searchsorted(mesh.triangle_face, np.arange(n + 1))
    for face in np.flatnonzero(np.isin(surface, _ROUND)).tolist():
        triangles = mesh.triangle[first[face] : first[face + 1]]
        if not len(triangles):
            continue
        offset = mesh.point_mm[triangles] - origin[face]  # (T, 3, 3)
        place = offset @ axis[face]
        along[face] = place.min(), place.max()
        turn[face] = _covered_deg(offset, axis[face])
    return turn, along


def _covered_deg(offset: Floats, axis: Floats) -> float:
    """Return how many degrees about the axis (T, 3, 3) triangle corners cover together."""
    helper = np.eye(3)[np.argmin(np.abs(axis))]
    side = unit(np.cross(axis, helper))
    other = np.cross(axis, side)
    x, y = offset @ side, offset @ other
    far = np.hypot(x, y).max()
    angle = np.degrees(np.arctan2(y, x))
    on_axis = np.hypot(x, y) <= 1e-9 * max(far, 1e-9)  # a tip or a pole has no angle of its own
    angle[on_axis] = math.nan
    middle = np.degrees(np.arctan2(y.mean(axis=1), x.mean(axis=1)))
    relative = (angle - middle[:, None] + 180.0) % 360.0 - 180.0
    low = middle + np.nanmin(relative, axis=1)
    high = middle + np.nanmax(relative, axis=1)
    return _union_deg(low, high)


def _union_deg(low: Floats, high: Floats) -> float:
    """Return the length of the union of arcs on a circle, 360 where no gap is left."""
    start = low % 360.0
    end = start + (high - low)
    order = np.argsort(start)
    start, end = start[order], end[order]
    reach = np.maximum.accumulate(end)
    wrapped = float(reach[-1]) - 360.0  # how far the arcs reach past the first one again
    gaps = start[1:] - np.maximum(reach[:-1], wrapped)
    missing = float(gaps[gaps > 0].sum()) + max(0.0, float(start[0]) - wrapped)
    return 360.0 if missing <= FULL_TURN_DEG else 360.0 - missing
