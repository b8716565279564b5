"""The smallest rectangle around a shape, seen along a direction."""

import numpy as np
from scipy.spatial import ConvexHull, QhullError

from analyzers.model.arrays import Floats


def plan_box(points: Floats, direction: Floats) -> tuple[float, float]:
    """Return the longer and the shorter side of the smallest rectangle around the points, seen along a direction."""
    side = np.cross(direction, np.eye(3)[np.argmin(np.abs(direction))])
    side /= np.linalg.norm(side)
    flat = np.c_[points @ side, points @ np.cross(direction, side)]
    try:
        rim = flat[ConvexHull(flat).vertices]
    except QhullError:  # all on one line: no width
        return float(np.linalg.norm(np.ptp(flat, axis=0))), 0.0
    step = np.roll(rim, -1, axis=0) - rim
    step /= np.linalg.norm(step, axis=1)[:, None]
    along = np.ptp(rim @ step.T, axis=0)
    across = np.ptp(rim @ np.c_[-step[:, 1], step[:, 0]].T, axis=0)
    best = int(np.argmin(np.round(along * across, 9)))
    return float(max(along[best], across[best])), float(min(along[best], across[best]))
