"""How far faces reach along a direction: the triangulation's corners, and the exact tops of round borders."""

import math
from collections.abc import Iterable, Iterator

import numpy as np

from analyzers.features._view import View
from analyzers.model.arrays import Floats, Ints, cross_product
from analyzers.model.part import Curve, Surface
from analyzers.tolerance import SQUARE_SIN


def reach(view: View, faces: Iterable[int], direction: Floats) -> tuple[float, float]:
    """Return the lowest and highest place of some faces along a unit direction, in millimetres.

    Exact for faces bounded by straight lines and circles: an arc's own top is used where it lies within the arc.
    """
    rows = list(faces)
    heights = view.points_of(rows) @ direction
    edges = np.array(sorted({edge for face in rows for edge in view.around[face]}), dtype=np.int64)
    bottoms, tops = _arc_ends(view, edges, direction)
    low, high = [float(heights.min()), *bottoms], [float(heights.max()), *tops]
    for bottom, top in _ridges(view, rows, direction):
        low.append(bottom)
        high.append(top)
    return min(low), max(high)


def _ridges(view: View, faces: list[int], direction: Floats) -> Iterator[tuple[float, float]]:
    """Yield the heights of the lowest and the highest line of each cylinder lying square to the direction.

    Where the face does not hold the line: inf and -inf.
    """
    part, mesh = view.part, view.part.mesh
    cylinders = (part.face_surface[faces] == Surface.CYLINDER).tolist()
    for face in (face for face, is_cylinder in zip(faces, cylinders, strict=True) if is_cylinder):
        axis, origin = part.face_axis[face], part.face_origin_mm[face]
        if abs(float(axis @ direction)) > SQUARE_SIN:
            continue
        first, last = np.searchsorted(mesh.triangle_face, [face, face + 1])
        offset = mesh.point_mm[mesh.triangle[first:last]] - origin  # (T, 3, 3)
        aside, above = offset @ cross_product(axis, direction), offset @ direction
        middle, radius = float(origin @ direction), float(part.face_radius_mm[face])
        yield (
            middle - radius if _held(np.arctan2(-aside, -above)) else math.inf,
            middle + radius if _held(np.arctan2(aside, above)) else -math.inf,
        )


def _held(turn: Floats) -> bool:
    """Return whether one of (T, 3) triangles holds the line from which their corners' turns are counted."""
    low, high = turn.min(axis=1, initial=np.inf), turn.max(axis=1, initial=-np.inf)
    return bool(((low <= 0.0) & (high >= 0.0) & (high - low < np.pi)).any())


def _arc_ends(view: View, edges: Ints, direction: Floats) -> tuple[list[float], list[float]]:
    """Return the heights of the lowest and of the highest point of each circular edge that contains it."""
    part = view.part
    round_ = edges[part.edge_curve[edges] == Curve.CIRCLE]
    if not len(round_):
        return [], []
    axis, centre, radius = part.edge_axis[round_], part.edge_centre_mm[round_], part.edge_radius_mm[round_]
    across = direction - (axis @ direction)[:, None] * axis
    steep = np.linalg.norm(across, axis=1)
    clear = steep > 1e-9
    towards = across[clear] / steep[clear, None]
    to_mid = (part.edge_mid_mm[round_[clear]] - centre[clear]) / radius[clear, None]
    lean = np.clip(np.einsum("ij,ij->i", towards, to_mid), -1.0, 1.0)
    half = 0.5 * part.edge_length_mm[round_[clear]] / radius[clear] + 1e-9
    middle, rise = centre[clear] @ direction, radius[clear] * steep[clear]
    bottoms, tops = (middle - rise)[np.arccos(-lean) <= half], (middle + rise)[np.arccos(lean) <= half]
    return bottoms.tolist(), tops.tolist()
