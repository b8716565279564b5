"""Grooves: ring-shaped channels about an axis, on a shaft, in a bore or in a face (ISO 14649-12 `groove`)."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import ClassVar, Literal

import numpy as np

from analyzers.features._view import View
from analyzers.model.arrays import vec
from analyzers.model.feature import FaceClass, Feature, mm_text
from analyzers.model.part import Curve, Surface
from analyzers.tolerance import FULL_TURN_DEG, SAME_PLACE_MM

RANK = 10

_FULL_DEG = 360.0 - FULL_TURN_DEG
_FACES_ALONG = 0.5  # a flank leans less than 60 degrees from square to the axis
_LARGEST_WIDTH = 1.0  # in floor diameters; what is wider is a length of the outline or of the bore, not a groove


@dataclass(frozen=True, slots=True, kw_only=True)
class Groove(Feature):
    """`side`: outer = on a shaft, inner = in a bore, face = in a flat face around the axis."""

    kind: ClassVar[str] = "groove"
    face_class: ClassVar[FaceClass] = "groove"

    width_mm: float
    depth_mm: float
    diameter_mm: float  # outer, inner: of the floor; face: of the outer wall
    side: Literal["outer", "inner", "face"]

    def callout(self) -> str:
        """Return for example "GROOVE ⌀30 3 ↧2"."""
        return f"GROOVE ⌀{mm_text(self.diameter_mm)} {mm_text(self.width_mm)} ↧{mm_text(self.depth_mm)}"


def propose(view: View) -> Iterator[Groove]:
    """Yield rings: a round floor between two flanks that face one another, or a ring floor between two round walls."""
    part = view.part
    for face in np.flatnonzero(part.face_surface == Surface.CYLINDER).tolist():
        if view.free[face] and not view.blends.is_blend[face] and part.face_span_deg[face] >= _FULL_DEG:
            groove = _about(view, face)
            if groove is not None:
                yield groove
    for face in np.flatnonzero(part.face_surface == Surface.PLANE).tolist():
        if view.free[face]:
            groove = _in_face(view, face)
            if groove is not None:
                yield groove


def _about(view: View, floor: int) -> Groove | None:
    """Return a groove whose floor is a full cylinder, on a shaft or in a bore; None where its sides do not face."""
    part = view.part
    axis = part.face_axis[floor]
    flanks = [f for f in view.corners[floor] if view.free[f] and _is_ring(view, f, floor)]
    low = [f for f in flanks if float(part.face_normal[f] @ axis) > _FACES_ALONG]
    high = [f for f in flanks if float(part.face_normal[f] @ axis) < -_FACES_ALONG]
    if len(low) != 1 or len(high) != 1:
        return None
    inner = bool(part.face_concave[floor])
    radius = float(part.face_radius_mm[floor])
    depths = [_ring_depth(view, flank, floor, radius, inner) for flank in (low[0], high[0])]
    if min(depths) <= SAME_PLACE_MM:
        return None
    along = (view.points_of((low[0], high[0])) - part.face_origin_mm[floor]) @ axis
    width = float(np.ptp(along))
    if width > _LARGEST_WIDTH * 2 * radius:
        return None
    return Groove(
        faces=tuple(sorted((floor, low[0], high[0]))),
        direction=vec(part.face_normal[floor]),
        position_mm=vec(part.face_origin_mm[floor] + (along.min() + width / 2) * axis),
        width_mm=width,
        depth_mm=min(depths),
        diameter_mm=2 * radius,
        side="inner" if inner else "outer",
        why="a full round floor between two flanks that face one another",
    )


def _is_ring(view: View, flank: int, floor: int) -> bool:
    """Return whether a flat or conical face is bounded by another round face about the floor's axis."""
    part = view.part
    if part.face_surface[flank] not in (Surface.PLANE, Surface.CONE):
        return False
    axis, origin = part.face_axis[floor], part.face_origin_mm[floor]
    for edge in view.around[flank]:
        if part.edge_curve[edge] != Curve.CIRCLE or not view.convex[edge]:
            continue
        offset = part.edge_centre_mm[edge] - origin
        if float(np.linalg.norm(offset - (offset @ axis) * axis)) <= SAME_PLACE_MM:
            return True
    return False


def _ring_depth(view: View, flank: int, floor: int, radius: float, inner: bool) -> float:
    """Return how far a flank rises from the groove's floor towards the mouth."""
    part = view.part
    axis, offset = part.face_axis[floor], view.points_of((flank,)) - part.face_origin_mm[floor]
    across = np.linalg.norm(offset - (offset @ axis)[:, None] * axis, axis=1)
    return float(radius - across.min() if inner else across.max() - radius)


def _in_face(view: View, floor: int) -> Groove | None:
    """Return a groove whose floor is a flat ring between a hollow and a bulging cylinder on one axis."""
    part = view.part
    walls = [
        f
        for f in view.corners[floor]
        if part.face_surface[f] == Surface.CYLINDER and view.free[f] and not view.blends.is_blend[f]
    ]
    if len(walls) != 2 or part.face_concave[walls].sum() != 1 or len(view.corners[floor]) != 2:
        return None
    outer, inner = sorted(walls, key=lambda f: not part.face_concave[f])
    axis = part.face_axis[outer]
    offset = part.face_origin_mm[inner] - part.face_origin_mm[outer]
    off_axis = float(np.linalg.norm(offset - (offset @ axis) * axis))
    gap = float(part.face_radius_mm[outer] - part.face_radius_mm[inner])
    if off_axis > SAME_PLACE_MM or gap <= SAME_PLACE_MM or part.face_span_deg[walls].min() < _FULL_DEG:
        return None
    return Groove(
        faces=tuple(sorted((floor, outer, inner))),
        direction=vec(part.face_normal[floor]),
        position_mm=vec(part.face_centroid_mm[floor]),
        width_mm=gap,
        depth_mm=float(min(np.ptp(part.face_along_mm[outer]), np.ptp(part.face_along_mm[inner]))),
        diameter_mm=2 * float(part.face_radius_mm[outer]),
        side="face",
        why="a flat ring floor between a hollow and a bulging cylinder on one axis",
    )
