"""How far faces reach along a direction: the triangulation's corners, and the exact tops of round borders."""

from collections.abc import Iterable

import numpy as np

from analyzers.features._view import View
from analyzers.model.arrays import Floats, cross_product
from analyzers.model.part import Curve, Surface
from analyzers.tolerance import SQUARE_SIN


def reach(view: View, faces: Iterable[int], direction: Floats) -> tuple[float, float]:
    """Return the lowest and highest place of some faces along a unit direction, in millimetres.

    Exact for faces bounded by straight lines and circles: an arc's own top is used where it lies within the arc.
    """
    rows = list(faces)
    heights = view.points_of(rows) @ direction
    edges = np.array(sorted({edge for face in rows for edge in view.around[face]}), dtype=np.int64)
    tops = [*_arc_tops(view, edges, direction).tolist(), *_ridges(view, rows, direction)]
    bottoms = [*(-_arc_tops(view, edges, -direction)).tolist(), *(-top for top in _ridges(view, rows, -direction))]
    low = min([float(heights.min()), *bottoms])
    high = max([float(heights.max()), *tops])
    return low, high


def _ridges(view: View, faces: list[int], direction: Floats) -> list[float]:
    """Return the height of the highest line of each cylinder lying square to the direction, where the face holds it."""
    part, mesh, found = view.part, view.part.mesh, []
    cylinders = (part.face_surface[faces] == Surface.CYLINDER).tolist()
    for face in (face for face, is_cylinder in zip(faces, cylinders, strict=True) if is_cylinder):
        axis, origin = part.face_axis[face], part.face_origin_mm[face]
        if abs(float(axis @ direction)) > SQUARE_SIN:
            continue
        first, last = np.searchsorted(mesh.triangle_face, [face, face + 1])
        offset = mesh.point_mm[mesh.triangle[first:last]] - origin  # (T, 3, 3)
        turn = np.arctan2(offset @ cross_product(axis, direction), offset @ direction)
        crossed = (turn.min(axis=1, initial=np.inf) <= 0.0) & (turn.max(axis=1, initial=-np.inf) >= 0.0)
        if (crossed & (np.ptp(turn, axis=1) < np.pi)).any():
            found.append(float(origin @ direction + part.face_radius_mm[face]))
    return found


def _arc_tops(view: View, edges: np.ndarray, direction: Floats) -> Floats:
    """Return the height of the highest point of each circular edge that contains it."""
    part = view.part
    round_ = edges[part.edge_curve[edges] == Curve.CIRCLE]
    if not len(round_):
        return np.zeros(0)
    axis, centre, radius = part.edge_axis[round_], part.edge_centre_mm[round_], part.edge_radius_mm[round_]
    across = direction - (axis @ direction)[:, None] * axis
    steep = np.linalg.norm(across, axis=1)
    clear = steep > 1e-9
    towards = across[clear] / steep[clear, None]
    to_mid = (part.edge_mid_mm[round_[clear]] - centre[clear]) / radius[clear, None]
    turn = np.arccos(np.clip(np.einsum("ij,ij->i", towards, to_mid), -1.0, 1.0))
    within = turn <= 0.5 * part.edge_length_mm[round_[clear]] / radius[clear] + 1e-9
    tops: Floats = (centre[clear] @ direction + radius[clear] * steep[clear])[within]
    return tops
