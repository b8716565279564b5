"""Where a bore begins and ends, measured on its axis."""

import numpy as np
from numpy.polynomial import Polynomial

from analyzers.features._bores import Bore, Length
from analyzers.features._view import View
from analyzers.model.arrays import Floats, unit
from analyzers.model.part import Surface
from analyzers.tolerance import SAME_PLACE_MM


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
    found = []
    for face in rim_of(view, length, bore.axis, sign):
        bulging = view.part.face_surface[face] != Surface.PLANE and not view.part.face_concave[face]
        above = length.radius if bulging else view.lookouts.lift_mm  # a crown stands over the whole of its rim
        found += [
            place
            for place in _crossings(view, face, bore)
            if abs(place - outermost) <= near and (place - outermost) * sign <= above
        ]
    if not found:
        return outermost
    return max(found) if high else min(found)


def full_diameter_end(tip: Length, body: Length, end: float, from_high: bool) -> float:
    """Return where on the axis a drill's full diameter ended.

    That is the end of the wall above the point, unless a void lies between them: then where the point's cone would have
    had the drill's diameter.
    """
    start, wide, narrow = (
        (tip.high, tip.high_radius, tip.low_radius) if from_high else (tip.low, tip.low_radius, tip.high_radius)
    )
    if abs(start - end) <= SAME_PLACE_MM:
        return end
    more = (body.radius - wide) * (tip.high - tip.low) / (wide - narrow)
    return start + more if from_high else start - more


def normal_at(view: View, face: int, place: Floats) -> Floats:
    """Return the unit normal of a face's whole surface at a place on it, in either sense; nan where it has none.

    Of round surfaces from their numbers: the place may lie where the face itself was cut away, and at a pole.
    """
    part = view.part
    kind, axis = part.face_surface[face], part.face_axis[face]
    offset = place - part.face_origin_mm[face]
    along = float(offset @ axis)
    across = offset - along * axis
    match kind:
        case Surface.SPHERE:
            return unit(offset)
        case Surface.CYLINDER:
            return unit(across)
        case Surface.TORUS:
            return unit(offset - float(part.face_radius_mm[face]) * unit(across))
        case Surface.CONE:
            return unit(unit(across) - np.tan(np.radians(part.face_half_angle_deg[face])) * axis)
        case _:
            return np.asarray(view.geometry.normals(np.array([face]), place[None])[0])


def _crossings(view: View, face: int, bore: Bore) -> list[float]:
    """Return where the bore's axis crosses the whole surface of a plane, cylinder, cone, sphere or torus."""
    part = view.part
    kind = part.face_surface[face]
    offset = bore.origin - part.face_origin_mm[face]
    if kind == Surface.PLANE:
        slope = float(part.face_axis[face] @ bore.axis)
        return [] if abs(slope) < 1e-3 else [-float(offset @ part.face_axis[face]) / slope]
    axis, radius = part.face_axis[face], float(part.face_radius_mm[face])
    along = Polynomial([float(offset @ axis), float(bore.axis @ axis)])
    whole = Polynomial([float(offset @ offset), 2 * float(offset @ bore.axis), 1.0])  # of the axis, from the middle
    match kind:
        case Surface.CYLINDER:
            equation = whole - along**2 - radius**2
        case Surface.CONE:
            equation = whole - along**2 / np.cos(np.radians(part.face_half_angle_deg[face])) ** 2
        case Surface.SPHERE:
            equation = whole - radius**2
        case Surface.TORUS:
            tube = float(part.face_tube_radius_mm[face])
            equation = (whole + radius**2 - tube**2) ** 2 - 4 * radius**2 * (whole - along**2)
        case _:
            return []
    return _roots(equation)


def _roots(equation: Polynomial) -> list[float]:
    """Return the real roots of a polynomial; none where it hardly depends on its variable."""
    flat = equation.trim(1e-9)
    if flat.degree() < 1:
        return []
    roots = flat.roots()
    return [float(root.real) for root in roots if abs(root.imag) <= SAME_PLACE_MM]
