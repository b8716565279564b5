"""How far round its axis, and where along it, each round face reaches."""

import math

import numpy as np

from analyzers.model.arrays import Floats, Ints, cross_product, unit
from analyzers.model.part import Mesh, Surface
from analyzers.tolerance import FULL_TURN_DEG

_ROUND = (Surface.CYLINDER, Surface.CONE, Surface.TORUS, Surface.SPHERE)


def spans(mesh: Mesh, surface: Ints, origin: Floats, axis: Floats) -> tuple[Floats, Floats]:
    """Return (F,) turn about the axis in degrees and (F, 2) lowest and highest place along it; nan for other faces.

    Taken from the triangulation, whose corners lie exactly on the face's border.
    """
    n = len(surface)
    turn, along = np.full(n, math.nan), np.full((n, 2), math.nan)
    rows = np.flatnonzero(np.isin(surface, _ROUND)[mesh.triangle_face])
    if not len(rows):
        return turn, along
    owner = mesh.triangle_face[rows]  # ascending
    first = np.flatnonzero(np.diff(owner, prepend=-1))
    offset = mesh.point_mm[mesh.triangle[rows]] - origin[owner, None]  # (T, 3, 3)
    place = np.einsum("tij,tj->ti", offset, axis[owner])
    along[owner[first], 0] = np.minimum.reduceat(place.min(axis=1), first)
    along[owner[first], 1] = np.maximum.reduceat(place.max(axis=1), first)
    low, high = _arcs_deg(offset, axis[owner], first)
    for begin, end in zip(first.tolist(), [*first[1:].tolist(), len(rows)], strict=True):
        turn[owner[begin]] = _union_deg(low[begin:end], high[begin:end])
    return turn, along


def _arcs_deg(offset: Floats, axis: Floats, first: Ints) -> tuple[Floats, Floats]:
    """Return (T,) and (T,) from where to where, in degrees about its axis, each of (T, 3, 3) triangles' corners reach.

    `first`: the row of each face's first triangle.
    """
    side = unit(cross_product(axis, np.eye(3)[np.argmin(np.abs(axis), axis=1)]))
    other = cross_product(axis, side)
    x, y = np.einsum("tij,tj->ti", offset, side), np.einsum("tij,tj->ti", offset, other)
    away = np.hypot(x, y)
    far = np.repeat(np.maximum.reduceat(away.max(axis=1), first), np.diff(first, append=len(away)))
    angle = np.degrees(np.arctan2(y, x))
    angle[away <= 1e-9 * np.maximum(far, 1e-9)[:, None]] = math.nan  # a tip or a pole has no angle of its own
    middle = np.degrees(np.arctan2(y.mean(axis=1), x.mean(axis=1)))
    relative = (angle - middle[:, None] + 180.0) % 360.0 - 180.0
    return middle + np.fmin.reduce(relative, axis=1), middle + np.fmax.reduce(relative, axis=1)


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
