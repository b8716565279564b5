"""The smallest box around a part, however it lies."""

from typing import Final

import numpy as np
from scipy.spatial import ConvexHull, QhullError

from analyzers.model.arrays import Floats, cross_product, triangle_normals, unit
from analyzers.plan.frame import Frame, distinct
from analyzers.tolerance import LIMIT_SLACK, SAME_ANGLE_DEG

MOST_SIDES: Final = 16
"""Flat sides of the hull that are tried as a side of the box: the largest by area."""

WORTH_RATIO: Final = 0.99
"""A box that is not at least this much smaller than the one along the part's own directions is not worth turning to."""


def smallest_box(point_mm: Floats, frame: Frame) -> tuple[Floats, Floats]:
    """Return (3,) lengths of the smallest box around a part, longest first, and (3, 3) the directions of its sides.

    One side lies on a flat of the convex hull, another on an edge of the outline seen along the first (rotating
    calipers: H. Freeman and R. Shapira, 1975, in the plane). The very smallest box may touch edges only (J. O'Rourke,
    1985). Where turning saves next to nothing, the box along the part's own directions is returned.

    Parameters
    ----------
    point_mm : (N, 3) of the triangulation
    frame : the part's main directions and its box along them
    """
    own, axes = frame.size_mm, frame.axes
    best = (float(np.prod(own)) * WORTH_RATIO, own, axes)
    try:
        hull = ConvexHull(point_mm)
    except QhullError:  # flat, or fewer than four points
        return _longest_first(own, axes)
    if hull.volume > best[0]:  # no box is smaller than the hull: a part that fills its own is done here, in a third
        return _longest_first(own, axes)
    corner = point_mm[hull.vertices]
    for normal in np.concatenate([axes, _sides(hull)]):
        across = _calipers(corner, normal, best[0])
        if across is None:
            continue
        size = np.ptp(corner @ across.T, axis=0)
        if float(np.prod(size)) < best[0]:
            best = (float(np.prod(size)), size, across)
    return _longest_first(best[1], best[2])


def _longest_first(size: Floats, axes: Floats) -> tuple[Floats, Floats]:
    order = np.argsort(-size, kind="stable")
    return size[order], axes[order]


def _sides(hull: ConvexHull) -> Floats:
    """Return (n, 3) normals of the largest flat sides of a hull, each way once."""
    normal = hull.equations[:, :3]
    corner = hull.points[hull.simplices]
    area = np.linalg.norm(triangle_normals(corner), axis=1)
    forwards = np.where((normal[:, :1] + 1e-3 * normal[:, 1:2] + 1e-6 * normal[:, 2:]) < 0.0, -normal, normal)
    _, first, which = np.unique(np.round(forwards, 4), axis=0, return_index=True, return_inverse=True)
    total = np.bincount(which.reshape(-1), weights=area)
    order = np.argsort(-np.round(total, 6), kind="stable")[:MOST_SIDES]
    return distinct(forwards[first[order]], SAME_ANGLE_DEG)


def _calipers(corner: Floats, normal: Floats, most_mm3: float) -> Floats | None:
    """Return (3, 3) the directions of the smallest box with a side square to a normal; None where all are larger."""
    helper = np.eye(3)[int(np.argmin(np.abs(normal)))]
    u = unit(cross_product(normal, helper))
    v = cross_product(normal, u)
    flat = corner @ np.stack([u, v]).T
    seen = ConvexHull(flat)
    if seen.volume * float(np.ptp(corner @ normal)) > most_mm3 * (1.0 + LIMIT_SLACK):  # volume: of a flat hull its area
        return None
    outline = flat[seen.vertices]
    edge = unit(np.roll(outline, -1, axis=0) - outline)
    x, y = outline.T[:, :, None]
    along = x * edge[:, 0] + y * edge[:, 1]  # (n, n) place of every corner along every edge
    aside = y * edge[:, 0] - x * edge[:, 1]
    area = np.round(np.ptp(along, axis=0) * np.ptp(aside, axis=0), 9)
    best = edge[int(np.argmin(area))]
    first = best[0] * u + best[1] * v
    return np.stack([first, cross_product(normal, first), normal])
