"""The axis about which a part could be turned, and how much of it follows that axis."""

from dataclasses import dataclass

import numpy as np

from analyzers.features._threads import find_threads
from analyzers.features._view import View
from analyzers.model.arrays import Bools, Floats
from analyzers.model.part import Part, Surface
from analyzers.tolerance import PARALLEL_COS, SAME_PLACE_MM

_ROUND = (Surface.CYLINDER, Surface.CONE, Surface.TORUS)
_LEAST_SHARE = 0.4  # of the part's surface; below this it is a milled part with a round feature
_LEAST_REACH = 0.9  # the outline about the axis must reach this share of the part's own outline


@dataclass(frozen=True, slots=True, eq=False)
class TurningAxis:
    """A line through the part. `share`: of the surface that turning about it would make."""

    point_mm: Floats
    direction: Floats
    share: float

    def carries(self, part: Part, face: int) -> bool:
        """Return whether a round face turns about this axis."""
        return bool(self.faces(part)[face])

    def is_line(self, point_mm: Floats, direction: Floats) -> bool:
        """Return whether another line is this axis."""
        offset = point_mm - self.point_mm
        apart = float(np.linalg.norm(offset - (offset @ self.direction) * self.direction))
        return abs(float(direction @ self.direction)) > PARALLEL_COS and apart <= 10 * SAME_PLACE_MM

    def faces(self, part: Part) -> Bools:
        """Return (F,) the round faces that turn about this axis."""
        return _about(part, self.point_mm, self.direction)


def turning_axis(view: View) -> TurningAxis | None:
    """Return the axis of a part that is mostly turned; None for a milled one."""
    return view.remember("turning axis", lambda: _find(view))


def _find(view: View) -> TurningAxis | None:
    part = view.part
    best: TurningAxis | None = None
    for point, direction in _candidates(view):
        share = float(part.face_area_mm2[_turned(view, point, direction)].sum() / part.area_mm2)
        if best is None or share > best.share + 1e-9:
            best = TurningAxis(point, direction, share)
    if best is None or best.share < _LEAST_SHARE or not _outline_round(view, best):
        return None
    return best


def _candidates(view: View) -> list[tuple[Floats, Floats]]:
    """Return the axes of the largest bulging round surfaces, one of each; of a ball, those of what was cut into it."""
    part = view.part
    outside = np.isin(part.face_surface, _ROUND) & ~part.face_concave & (part.face_span_deg > 90.0)
    outside |= (part.face_surface == Surface.REVOLUTION) & np.isfinite(part.face_axis).all(axis=1)
    outside &= ~view.blends.is_blend
    ball = (part.face_surface == Surface.SPHERE) & ~part.face_concave & ~view.blends.is_blend
    order = np.argsort(-part.face_area_mm2, kind="stable")
    found = [(thread.point_mm, thread.axis) for thread in find_threads(view) if thread.external]
    tried: set[int] = set()
    for face in order[(outside | ball)[order]].tolist():
        if int(view.surface[face]) in tried or len(tried) >= 8:
            continue
        tried.add(int(view.surface[face]))
        point = part.face_origin_mm[face]
        found += [(point, direction) for direction in (_through(view, face) if ball[face] else [part.face_axis[face]])]
    return found


def _through(view: View, ball: int) -> list[Floats]:
    """Return directions through a ball's middle: axes of round faces that pass it, else square to a flat, else any."""
    part = view.part
    offset = part.face_origin_mm - part.face_origin_mm[ball]
    apart = np.linalg.norm(offset - np.einsum("ij,ij->i", offset, part.face_axis)[:, None] * part.face_axis, axis=1)
    round_ = np.isin(part.face_surface, _ROUND) & (np.nan_to_num(apart, nan=np.inf) <= 10 * SAME_PLACE_MM)
    flat = part.face_surface == Surface.PLANE
    for faces in (np.flatnonzero(round_), np.flatnonzero(flat)):
        if len(faces):
            largest = faces[np.argsort(-part.face_area_mm2[faces], kind="stable")[:3]]
            return list(part.face_axis[largest])
    return [part.face_axis[ball]]


def _about(part: Part, point: Floats, direction: Floats) -> Bools:
    """Return (F,) round faces whose axis is the given line."""
    parallel = np.abs(part.face_axis @ direction) > PARALLEL_COS
    offset = part.face_origin_mm - point
    apart = np.linalg.norm(offset - (offset @ direction)[:, None] * direction, axis=1)
    with np.errstate(invalid="ignore"):
        found: Bools = (
            np.isin(part.face_surface, (*_ROUND, Surface.REVOLUTION)) & parallel & (apart <= 10 * SAME_PLACE_MM)
        )
        ball = (part.face_surface == Surface.SPHERE) & (apart <= 10 * SAME_PLACE_MM)
    return np.asarray(found | ball)


def _turned(view: View, point: Floats, direction: Floats) -> Bools:
    """Return (F,) faces that turning about the line makes: round ones about it, and flat ones square to it."""
    part = view.part
    about = _about(part, point, direction)
    square = (part.face_surface == Surface.PLANE) & (np.abs(part.face_axis @ direction) > PARALLEL_COS)
    left, right = part.edge_faces.T
    touches = np.zeros(part.n_faces, dtype=bool)
    both = (left >= 0) & (right >= 0)
    for one, other in ((left, right), (right, left)):
        touches[one[both & about[np.maximum(other, 0)]]] = True
    turned: Bools = about | (square & touches) | _screwed(view, point, direction)
    return turned


def _screwed(view: View, point: Floats, direction: Floats) -> Bools:
    """Return (F,) faces of modelled threads about the line."""
    found = np.zeros(view.part.n_faces, dtype=bool)
    for thread in find_threads(view):
        offset = thread.point_mm - point
        apart = float(np.linalg.norm(offset - (offset @ direction) * direction))
        if abs(float(thread.axis @ direction)) > PARALLEL_COS and apart <= 10 * SAME_PLACE_MM:
            found[list(thread.faces)] = True
    return found


def _outline_round(view: View, axis: TurningAxis) -> bool:
    """Return whether the part's widest place about the axis is one of its turned faces."""
    part = view.part
    turned = _about(part, axis.point_mm, axis.direction) & ~part.face_concave
    turned |= _screwed(view, axis.point_mm, axis.direction)
    outline = view.points_of(np.flatnonzero(turned).tolist())
    widest, reach = (_reach(points, axis) for points in (outline, view.hull_mm))
    return widest >= _LEAST_REACH * reach


def _reach(points: Floats, axis: TurningAxis) -> float:
    """Return how far some points reach off the axis."""
    offset = points - axis.point_mm
    across = offset - (offset @ axis.direction)[:, None] * axis.direction
    return float(np.linalg.norm(across, axis=1).max(initial=0.0))
