"""Blend faces: round faces that run smoothly into the faces they join. Fillets are hollow, edge rounds are not.

They are looked through: the faces on both sides of a blend meet one another as if the blend were not there.
"""

from dataclasses import dataclass

import numpy as np

from analyzers.features._surfaces import surface_numbers
from analyzers.model.arrays import Bools, Floats, Ints
from analyzers.model.facegraph import edges_of_faces, groups, other_side, smooth_edges
from analyzers.model.part import Curve, Part, Surface
from analyzers.tolerance import SAME_ANGLE_DEG, SAME_LENGTH_MM, SAME_PLACE_MM

_ROUND = (Surface.CYLINDER, Surface.CONE, Surface.TORUS, Surface.SPHERE, Surface.BSPLINE, Surface.REVOLUTION)
GENTLE_SHARE = 0.5  # of the part's diagonal: a larger radius shapes a side of the part, it does not round its edge
_HALF_TURN_DEG = 180.0 - 2.0  # from here on a round face is an end or a shaft, no blend


@dataclass(frozen=True, slots=True)
class Blends:
    """Which faces are blends, and which other faces they join.

    `joins`: (N, 2) pairs of faces that meet across a blend; `join_blend`: (N,) that blend.
    """

    is_blend: Bools  # (F,)
    concave: Bools  # (F,) a fillet; meaningless where is_blend is False
    radius_mm: Floats  # (F,) the smallest; nan on free surfaces
    wide_radius_mm: Floats  # (F,) the largest; differs on cones only
    joins: Ints
    join_blend: Ints


def find_blends(part: Part) -> Blends:
    """Return the blends of a part, from its arrays alone."""
    around = edges_of_faces(part)
    smooth = smooth_edges(part)
    surface = surface_numbers(part)
    span = _whole_span(part, surface, smooth)
    is_blend = np.zeros(part.n_faces, dtype=bool)
    narrow = _radii(part)
    sized = ~(narrow > GENTLE_SHARE * part.diagonal_mm) & ~(narrow <= SAME_PLACE_MM)  # nan = a free surface: may be one
    for face in np.flatnonzero(np.isin(part.face_surface, _ROUND) & sized).tolist():
        is_blend[face] = _joins_smoothly(part, face, around[face], smooth, surface, float(span[face]))
    concave = part.face_concave.copy()
    free = np.isin(part.face_surface, (Surface.BSPLINE, Surface.REVOLUTION))
    concave[free] = part.face_ball_radius_mm[free, 0] > 0
    radius, wide = _radii(part), _radii(part, narrow=False)
    joins, join_blend = _joined(part, around, smooth, is_blend, surface)
    return Blends(is_blend, concave, radius, wide, joins, join_blend)


def _radii(part: Part, narrow: bool = True) -> Floats:
    """Return (F,) the radius a ball rolling along the blend would have, at a cone's narrow or wide end; nan = free."""
    radius: Floats = np.where(part.face_surface == Surface.TORUS, part.face_tube_radius_mm, part.face_radius_mm)
    cone = part.face_surface == Surface.CONE
    half = np.radians(part.face_half_angle_deg)
    end = np.maximum(part.face_along_mm[:, 0 if narrow else 1], 0.0) * np.tan(half)
    return np.asarray(np.where(cone, end, radius))


def _whole_span(part: Part, surface: Ints, smooth: Bools) -> Floats:
    """Return (F,) the turn that a round face covers together with the touching faces of its own surface.

    Pieces that lie behind one another on the axis do not add up: the turns are averaged over the length they share.
    """
    left, right = part.edge_faces[smooth].T
    same = surface[left] == surface[right]
    together = groups(part.n_faces, np.c_[left[same], right[same]])
    first = np.full(part.n_faces, -1, dtype=np.int64)
    first[together[::-1]] = np.arange(part.n_faces)[::-1]  # the lowest face of each group lends its axis
    axis = np.nan_to_num(part.face_axis[first[together]])
    turn = np.nan_to_num(part.face_span_deg)
    offset = np.einsum("ij,ij->i", np.nan_to_num(part.face_origin_mm), axis)
    sense = np.where(np.einsum("ij,ij->i", np.nan_to_num(part.face_axis), axis) < 0, -1.0, 1.0)
    ends = offset[:, None] + sense[:, None] * np.nan_to_num(part.face_along_mm)
    low, high = np.full(part.n_faces, np.inf), np.full(part.n_faces, -np.inf)
    np.minimum.at(low, together, ends.min(axis=1))
    np.maximum.at(high, together, ends.max(axis=1))
    whole = (high - low)[together]
    covered = np.bincount(together, weights=np.ptp(ends, axis=1) * turn, minlength=part.n_faces)[together]
    spread = np.divide(covered, whole, out=turn.copy(), where=whole > 0)
    pieces = np.bincount(together, minlength=part.n_faces)[together]
    return np.asarray(np.where(pieces > 1, spread, turn))


def _joins_smoothly(part: Part, face: int, edges: list[int], smooth: Bools, surface: Ints, span_deg: float) -> bool:
    """Return whether a round face runs smoothly into its surroundings on two opposite sides."""
    kind = part.face_surface[face]
    if kind in (Surface.CYLINDER, Surface.CONE) and span_deg >= _HALF_TURN_DEG:
        return False
    sides = [edge for edge in edges if smooth[edge] and surface[other_side(part, edge, face)] != surface[face]]
    if len(sides) < 2:
        return False
    if kind in (Surface.CYLINDER, Surface.CONE):
        beside = sorted({other_side(part, edge, face) for edge in sides if _runs_along(part, edge, face)})
        narrow = (part.face_surface[beside] == kind) & (part.face_radius_mm[beside] < part.face_radius_mm[face])
        return len(beside) >= 2 and not narrow.all()  # between tighter rounds on both sides it is the wall of a slot
    rim = sum(float(part.edge_length_mm[edge]) for edge in edges)
    return sum(float(part.edge_length_mm[edge]) for edge in sides) >= 0.5 * rim


def _runs_along(part: Part, edge: int, face: int) -> bool:
    """Return whether an edge of a cylinder or cone follows a ruling of it."""
    if part.edge_length_mm[edge] <= SAME_LENGTH_MM:
        return False
    if part.edge_curve[edge] in (Curve.CIRCLE, Curve.ELLIPSE):
        return False
    lean = abs(float(part.edge_tangent[edge] @ part.face_axis[face]))
    if part.face_surface[face] == Surface.CONE:
        lean_deg = float(np.degrees(np.arccos(min(1.0, lean))))
        return bool(abs(lean_deg - float(part.face_half_angle_deg[face])) < 1.0)
    return bool(lean > np.cos(np.radians(20 * SAME_ANGLE_DEG)))


def _joined(part: Part, around: list[list[int]], smooth: Bools, is_blend: Bools, surface: Ints) -> tuple[Ints, Ints]:
    """Return the pairs of faces that meet across one blend, and that blend."""
    pairs: list[tuple[int, int]] = []
    across: list[int] = []
    for face in np.flatnonzero(is_blend).tolist():
        beside = {other_side(part, edge, face) for edge in around[face] if smooth[edge]}
        sides = sorted(other for other in beside if other >= 0 and not is_blend[other])
        for i, first in enumerate(sides):
            for second in sides[i + 1 :]:
                if surface[first] != surface[second]:
                    pairs.append((first, second))
                    across.append(face)
    return np.array(pairs, dtype=np.int64).reshape(-1, 2), np.array(across, dtype=np.int64)
