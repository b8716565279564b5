"""The smallest rectangle around a shape, seen along a direction."""

from collections.abc import Iterable

import numpy as np
from scipy.spatial import ConvexHull, QhullError

from analyzers.features._reach import reach
from analyzers.features._view import View
from analyzers.model.arrays import Floats, cross_product, unit
from analyzers.tolerance import MASS_ERROR, SAME_PLACE_MM


def plan_box(view: View, faces: Iterable[int], direction: Floats) -> tuple[float, float]:
    """Return the longer and the shorter side of the smallest rectangle around some faces, seen along a direction."""
    sides = [high - low for _, low, high in _rectangle(view, tuple(faces), direction)]
    return max(sides), min(sides)


def plan_middle(view: View, faces: Iterable[int], direction: Floats) -> Floats:
    """Return the point in the middle of that rectangle, at height 0 along the direction: the same in every pose."""
    sides = _rectangle(view, tuple(faces), direction)
    middle: Floats = sum((0.5 * (low + high) * axis for axis, low, high in sides), np.zeros(3))
    return middle


def _rectangle(view: View, faces: tuple[int, ...], direction: Floats) -> list[tuple[Floats, float, float]]:
    """Return that rectangle's two directions, each with its lowest and highest place."""

    def find() -> list[tuple[Floats, float, float]]:
        return [(axis, *reach(view, faces, axis)) for axis in _box_axes(view.points_of(faces), direction)]

    return view.remember(("plan rectangle", faces, *direction.tolist()), find)


def _box_axes(points: Floats, direction: Floats) -> Floats:
    """Return (2, 3) unit vectors along the smallest rectangle (Freeman and Shapira 1975), of several the slimmest."""
    side = unit(cross_product(direction, np.eye(3)[np.argmin(np.abs(direction))]))
    other = cross_product(direction, side)
    flat = np.c_[points @ side, points @ other]
    try:
        rim = flat[ConvexHull(flat).vertices]
        step = unit(np.roll(rim, -1, axis=0) - rim)
    except QhullError:  # all on one line
        far = flat[np.argmax(np.linalg.norm(flat - flat[0], axis=1))] - flat[0]
        rim, step = flat, unit(far if np.linalg.norm(far) > 0 else np.array([1.0, 0.0]))[None]
    along = np.ptp(rim @ step.T, axis=0)
    across = np.ptp(rim @ np.column_stack([-step[:, 1], step[:, 0]]).T, axis=0)
    area, shorter = along * across, np.minimum(along, across)
    least = area <= area.min() * (1.0 + MASS_ERROR) + SAME_PLACE_MM**2  # a triangle has three of one area
    best = step[int(np.argmin(np.where(least, shorter, np.inf)))]
    return np.stack([best[0] * side + best[1] * other, -best[1] * side + best[0] * other])
