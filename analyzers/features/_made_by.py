"""How the body is evidently made: milled, turned, both, or by something that is no machining."""

import numpy as np

from analyzers.features._threads import threaded
from analyzers.features._turning import TurningAxis, turning_axis
from analyzers.features._view import View
from analyzers.model.arrays import vec
from analyzers.model.feature import Feature
from analyzers.model.part import Surface
from analyzers.model.report import MadeBy
from analyzers.tolerance import PARALLEL_COS, SAME_PLACE_MM

_TURNED_SHARE = 0.9
_FREE_SHARE = 0.5
_SHEET_RATIO = 0.6  # share of the surface that has its twin at one and the same thickness


def made_by(view: View, features: tuple[Feature, ...]) -> MadeBy:
    """Return the process with its reason, from shares of the surface."""
    part = view.part
    free = np.isin(part.face_surface, (Surface.BSPLINE, Surface.OTHER, Surface.EXTRUSION, Surface.REVOLUTION))
    free &= ~threaded(view)
    axis = turning_axis(view)
    if axis is not None:
        free &= ~axis.faces(part)
    share = float(part.face_area_mm2[free].sum() / part.area_mm2) if part.area_mm2 > 0 else 0.0
    if share > _FREE_SHARE:
        why = f"{100 * share:.0f} % of the surface is free-form: a cast or moulded shape"
        return MadeBy(process="not_machined", why=why)
    bends = _bent_sheet(view)
    if bends is not None:
        return MadeBy(process="not_machined", why=bends)
    if axis is None:
        return MadeBy(process="milled", why="no axis that most of the surface turns about")
    percent = f"{100 * axis.share:.0f} % of the surface turns about one axis"
    milled = [feature.id for feature in features if _needs_milling(feature, axis)]
    if axis.share >= _TURNED_SHARE and not milled:
        return MadeBy(process="turned", why=percent, axis=vec(axis.direction))
    rest = f"{len(milled)} features off the axis" if milled else "the rest of the outline"
    why = f"{percent}; {rest} need a milling cutter as well"
    return MadeBy(process="mill_turned", why=why, axis=vec(axis.direction))


def _needs_milling(feature: Feature, axis: TurningAxis) -> bool:
    """Return whether a hole lies off the turning axis, or a recess or boss is no ring about it."""
    if feature.face_class == "hole":
        square = abs(float(np.array(feature.direction) @ axis.direction)) < PARALLEL_COS
        offset = np.array(feature.position_mm) - axis.point_mm
        away = float(np.linalg.norm(offset - (offset @ axis.direction) * axis.direction))
        return square or away > 10 * SAME_PLACE_MM
    return feature.face_class in ("pocket", "slot", "step", "boss")


def _bent_sheet(view: View) -> str | None:
    """Return the reason where the body is a bent sheet: hollow and bulging bends in pairs, one thickness apart."""
    part = view.part
    bends = np.flatnonzero((part.face_surface == Surface.CYLINDER) & view.blends.is_blend)
    inner, outer = bends[part.face_concave[bends]], bends[~part.face_concave[bends]]
    if not len(inner) or not len(outer):
        return None
    steps = []
    for face in inner.tolist():
        offset = part.face_origin_mm[outer] - part.face_origin_mm[face]
        axis = part.face_axis[face]
        apart = np.linalg.norm(offset - (offset @ axis)[:, None] * axis, axis=1)
        gap = part.face_radius_mm[outer] - part.face_radius_mm[face]
        match = (apart < 0.5 * gap) & (gap > 0) & (np.abs(part.face_axis[outer] @ axis) > 0.999)
        steps += gap[match].tolist()
    if len(steps) < max(1, len(inner) // 2):
        return None
    thickness = float(np.median(steps))
    if abs(2 * part.volume_mm3 / (thickness * part.area_mm2) - 1.0) > 1.0 - _SHEET_RATIO:
        return None
    return f"bent sheet {thickness:.3g} mm thick: {len(steps)} bends with the same thickness inside and outside"
