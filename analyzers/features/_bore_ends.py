"""Where a bore begins and ends, measured on its axis."""

import math

from analyzers.features._bores import Bore, Length
from analyzers.features._view import View
from analyzers.model.arrays import Floats
from analyzers.model.part import Surface


def rim_of(view: View, length: Length, axis: Floats, sign: float) -> list[int]:
    """Return the faces met in outside corners at one end of a length; broken edges are looked through."""
    part = view.part
    found: dict[int, None] = {}
    middle = part.face_centroid_mm[list(length.faces)].mean(axis=0)
    for face in length.faces:
        for edge in view.around[face]:
            if not view.convex[edge] or float((part.edge_mid_mm[edge] - middle) @ axis) * sign <= 0:
                continue
            beside = view.across(edge, face)
            if beside not in length.faces:
                found[beside] = None
    return list(found)


def end_on_axis(view: View, bore: Bore, length: Length, high: bool) -> float:
    """Return where the axis passes the surface at one end of a length, in millimetres from the bore's origin.

    On slanted and round surfaces the rim is not level: the place on the axis is what a drill's feed counts from. Where
    the axis meets none of the rim's faces near the rim, the rim's outermost point stands in.
    """
    outermost = length.high if high else length.low
    sign = 1.0 if high else -1.0
    near = 2.0 * length.radius
    found = [
        place
        for face in rim_of(view, length, bore.axis, sign)
        for place in _crossings(view, face, bore)
        if abs(place - outermost) <= near and (place - outermost) * sign <= view.lookouts.lift_mm
    ]
    if not found:
        return outermost
    return max(found) if high else min(found)


def _crossings(view: View, face: int, bore: Bore) -> list[float]:
    """Return where the bore's axis crosses the whole surface of a plane, cylinder or sphere."""
    part = view.part
    kind = part.face_surface[face]
    offset = bore.origin - part.face_origin_mm[face]
    if kind == Surface.PLANE:
        slope = float(part.face_axis[face] @ bore.axis)
        return [] if abs(slope) < 1e-3 else [-float(offset @ part.face_axis[face]) / slope]
    radius = float(part.face_radius_mm[face])
    if kind == Surface.CYLINDER:
        axis = part.face_axis[face]
        return _roots(offset - (offset @ axis) * axis, bore.axis - (bore.axis @ axis) * axis, radius)
    if kind == Surface.SPHERE:
        return _roots(offset, bore.axis, radius)
    return []


def _roots(offset: Floats, direction: Floats, radius: float) -> list[float]:
    """Return t where |offset + t direction| = radius."""
    a, b, c = float(direction @ direction), float(offset @ direction), float(offset @ offset) - radius**2
    inner = b * b - a * c
    if a < 1e-9 or inner < 0:
        return []
    root = math.sqrt(inner)
    return [(-b - root) / a, (-b + root) / a]
