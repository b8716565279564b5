"""Exact points and normals of plane, cylinder, cone, sphere and torus, from the part's arrays alone; row by row."""

from collections.abc import Mapping
from typing import Any, Final

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
    return Surfaces(part, face).feet(point_mm)


def outward(part: Part, face: Ints, point_mm: Floats) -> Floats:
    """Return (N, 3) outward unit normals at the feet of the points; nan for free surfaces."""
    return Surfaces(part, face).outward(point_mm)


class Surfaces:
    """The surfaces of N faces in a row, made ready to be asked about one point each, again and again."""

    def __init__(self, part: Part, face: Ints) -> None:
        surface = part.face_surface[face]
        count = np.bincount(surface, minlength=len(Surface)).tolist()
        self._groups: list[tuple[Any, _Plane]] = []  # rows, and their surfaces of one kind
        for kind, ready in _KINDS.items():
            if count[kind] == len(face):
                self._groups.append((..., ready(part, face)))
            elif count[kind]:
                rows = (surface == kind).nonzero()[0]
                self._groups.append((rows, ready(part, face[rows])))

    def feet(self, point_mm: Floats) -> Floats:
        """Return (N, 3) what `feet` does, for (N, 3) points."""
        foot = np.array(point_mm, dtype=float)
        for rows, surfaces in self._groups:
            foot[rows] = surfaces.nearest(foot[rows])
        return foot

    def outward(self, point_mm: Floats) -> Floats:
        """Return (N, 3) what `outward` does, for (N, 3) points."""
        normal = np.full(point_mm.shape, np.nan)
        for rows, surfaces in self._groups:
            normal[rows] = surfaces.sign[:, None] * surfaces.upright(point_mm[rows])
        return normal


class _Plane:
    """N planes."""

    def __init__(self, part: Part, face: Ints) -> None:
        self.origin, self.axis = part.face_origin_mm[face], part.face_axis[face]
        self.sign = np.ones(len(face))  # -1 where the outward normal runs against `upright`

    def nearest(self, point: Floats) -> Floats:
        """Return (N, 3) the nearest point of each surface."""
        along = dot(point - self.origin, self.axis)
        nearest: Floats = point - along[:, None] * self.axis
        return nearest

    def upright(self, _: Floats) -> Floats:
        """Return (N, 3) unit normals there, away from the axis, centre or tube."""
        return self.axis


class _Round(_Plane):
    """N surfaces that are round about their axes."""

    def __init__(self, part: Part, face: Ints) -> None:
        super().__init__(part, face)
        self.sign = np.where(part.face_concave[face], -1.0, 1.0)
        self.radius = part.face_radius_mm[face]
        self.low, self.high = part.face_along_mm[face].T  # where the faces begin and end along their axes

    def _along(self, point: Floats) -> tuple[Floats, Floats]:
        """Return (N, 3) the points from the origins, and (N,) their places along the axes."""
        offset = point - self.origin
        return offset, dot(offset, self.axis)

    def _away(self, offset: Floats, along: Floats) -> Floats:
        """Return (N, 3) unit vectors from the axis to the point; any one across it for a point on the axis."""
        across = offset - along[:, None] * self.axis
        away = unit(across)
        lost = ~across.any(axis=1)
        if lost.any():
            helper = np.eye(3)[np.argmin(np.abs(self.axis[lost]), axis=1)]
            away[lost] = unit(cross_product(self.axis[lost], helper))
        return away

    def _at(self, along: Floats, radius: Floats, away: Floats) -> Floats:
        """Return (N, 3) points given along and away from the axes."""
        point: Floats = self.origin + along[:, None] * self.axis + radius[:, None] * away
        return point

    def upright(self, point: Floats) -> Floats:
        return self._away(*self._along(point))


class _Cylinder(_Round):
    def nearest(self, point: Floats) -> Floats:
        offset, along = self._along(point)
        within = np.minimum(np.maximum(along, self.low), self.high)
        return self._at(within, self.radius, self._away(offset, along))


class _Cone(_Round):
    def __init__(self, part: Part, face: Ints) -> None:
        super().__init__(part, face)
        half = np.radians(part.face_half_angle_deg[face])
        self.cos, self.sin = np.cos(half), np.sin(half)

    def nearest(self, point: Floats) -> Floats:
        offset, along = self._along(point)
        away = self._away(offset, along)
        flank = along * self.cos + dot(offset, away) * self.sin
        flank = np.minimum(np.maximum(flank, np.maximum(self.low, 0.0) / self.cos), self.high / self.cos)
        return self._at(flank * self.cos, flank * self.sin, away)

    def upright(self, point: Floats) -> Floats:
        away = super().upright(point)
        return np.asarray(away * self.cos[:, None] - self.axis * self.sin[:, None])


class _Sphere(_Round):
    def nearest(self, point: Floats) -> Floats:
        nearest: Floats = self.origin + self.radius[:, None] * unit(point - self.origin)
        return nearest

    def upright(self, point: Floats) -> Floats:
        return unit(point - self.origin)


class _Torus(_Round):
    def __init__(self, part: Part, face: Ints) -> None:
        super().__init__(part, face)
        self.tube_radius = part.face_tube_radius_mm[face]

    def nearest(self, point: Floats) -> Floats:
        tube = self._tube(point)
        nearest: Floats = tube + self.tube_radius[:, None] * unit(point - tube)
        return nearest

    def upright(self, point: Floats) -> Floats:
        return unit(point - self._tube(point))

    def _tube(self, point: Floats) -> Floats:
        """Return (N, 3) the nearest points on the centre circles."""
        tube: Floats = self.origin + self.radius[:, None] * self._away(*self._along(point))
        return tube


_KINDS: Final[Mapping[Surface, type[_Plane]]] = {
    Surface.PLANE: _Plane,
    Surface.CYLINDER: _Cylinder,
    Surface.CONE: _Cone,
    Surface.SPHERE: _Sphere,
    Surface.TORUS: _Torus,
}
