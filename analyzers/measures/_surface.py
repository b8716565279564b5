"""Exact points and normals of plane, cylinder, cone, sphere and torus, from the part's arrays alone; row by row."""

from collections.abc import Callable
from functools import cached_property

import numpy as np

from analyzers.model.arrays import Bools, Floats, Ints, cross_product, unit
from analyzers.model.part import Part, Surface


def analytic(part: Part, face: Ints) -> Bools:
    """Return (N,) True where the arrays know the whole surface of the face."""
    known: Bools = part.face_surface[face] <= Surface.TORUS
    return known


def dot(first: Floats, second: Floats) -> Floats:
    """Return (N,) row-wise scalar products."""
    product: Floats = np.einsum("ij,ij->i", first, second)
    return product


def feet(part: Part, face: Ints, point_mm: Floats) -> Floats:
    """Return (N, 3) the nearest point of each row's surface; a free surface gives the point back.

    Cylinders and cones end where their face ends along the axis; nothing else is trimmed.
    """
    foot = np.array(point_mm, dtype=float)
    surface = part.face_surface[face]
    for kind, nearest in _NEAREST.items():
        rows = (surface == kind).nonzero()[0]
        if len(rows):
            foot[rows] = nearest(_Seen(part, face[rows], foot[rows]))
    return foot


def outward(part: Part, face: Ints, point_mm: Floats) -> Floats:
    """Return (N, 3) outward unit normals at the feet of the points; nan for free surfaces."""
    normal = np.full((len(face), 3), np.nan)
    surface = part.face_surface[face]
    for kind, upright in _UPRIGHT.items():
        rows = (surface == kind).nonzero()[0]
        if len(rows):
            sign = np.where(part.face_concave[face[rows]] & (kind != Surface.PLANE), -1.0, 1.0)
            normal[rows] = sign[:, None] * upright(_Seen(part, face[rows], point_mm[rows]))
    return normal


class _Seen:
    """Points as seen from the axes of their faces."""

    def __init__(self, part: Part, face: Ints, point_mm: Floats) -> None:
        self.part, self.face, self.point = part, face, point_mm
        self.origin, self.axis = part.face_origin_mm[face], part.face_axis[face]
        self.offset = point_mm - self.origin
        self.along = dot(self.offset, self.axis)

    @cached_property
    def away(self) -> Floats:
        """(N, 3) unit vectors from the axis to the point; any one across it for a point on the axis."""
        across = self.offset - self.along[:, None] * self.axis
        away = unit(across)
        lost = np.flatnonzero(~across.any(axis=1))
        if len(lost):
            helper = np.eye(3)[np.argmin(np.abs(self.axis[lost]), axis=1)]
            away[lost] = unit(cross_product(self.axis[lost], helper))
        return away

    @property
    def radius(self) -> Floats:
        """(N,) the faces' radii."""
        return self.part.face_radius_mm[self.face]

    @property
    def half(self) -> Floats:
        """(N,) the cones' half angles in radians."""
        return np.asarray(np.radians(self.part.face_half_angle_deg[self.face]), dtype=float)

    @property
    def ends(self) -> tuple[Floats, Floats]:
        """(N,) and (N,) where the faces begin and end along their axes."""
        low, high = self.part.face_along_mm[self.face].T
        return low, high

    @property
    def tube(self) -> Floats:
        """(N, 3) the nearest points on the centre circles of tori."""
        tube: Floats = self.origin + self.radius[:, None] * self.away
        return tube

    def at(self, along: Floats, radius: Floats) -> Floats:
        """Return (N, 3) points given along and away from the axes."""
        point: Floats = self.origin + along[:, None] * self.axis + radius[:, None] * self.away
        return point


def _on_cone(seen: _Seen) -> Floats:
    cos, sin = np.cos(seen.half), np.sin(seen.half)
    low, high = seen.ends
    flank = np.clip(seen.along * cos + dot(seen.offset, seen.away) * sin, np.maximum(low, 0.0) / cos, high / cos)
    return seen.at(flank * cos, flank * sin)


_NEAREST: dict[Surface, Callable[[_Seen], Floats]] = {
    Surface.PLANE: lambda seen: seen.point - seen.along[:, None] * seen.axis,
    Surface.CYLINDER: lambda seen: seen.at(np.clip(seen.along, *seen.ends), seen.radius),
    Surface.CONE: _on_cone,
    Surface.SPHERE: lambda seen: seen.origin + seen.radius[:, None] * unit(seen.offset),
    Surface.TORUS: lambda seen: (
        seen.tube + seen.part.face_tube_radius_mm[seen.face, None] * unit(seen.point - seen.tube)
    ),
}
_UPRIGHT: dict[Surface, Callable[[_Seen], Floats]] = {
    Surface.PLANE: lambda seen: seen.axis,
    Surface.CYLINDER: lambda seen: seen.away,
    Surface.CONE: lambda seen: seen.away * np.cos(seen.half)[:, None] - seen.axis * np.sin(seen.half)[:, None],
    Surface.SPHERE: lambda seen: unit(seen.offset),
    Surface.TORUS: lambda seen: unit(seen.point - seen.tube),
}
