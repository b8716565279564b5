"""One solid as read-only arrays; everything above the kernel works on these."""

from collections.abc import Iterable
from dataclasses import dataclass, field, fields, replace
from enum import IntEnum
from functools import cached_property
from typing import Any, ClassVar

import numpy as np

from analyzers.model.arrays import Bools, Floats, Ints, Vec, frozen, rows_of, widest_mm


class _Number(IntEnum):
    """A number with a name. Numpy asks each operand's class for this method; Enum takes 4 µs to say it has none."""

    __array_ufunc__: ClassVar[Any] = np.ndarray.__array_ufunc__


class Surface(_Number):
    """Surface kinds after analytic recognition; the lower-case name is the word of the report."""

    PLANE = 0
    CYLINDER = 1
    CONE = 2
    SPHERE = 3
    TORUS = 4
    REVOLUTION = 5
    EXTRUSION = 6
    BSPLINE = 7
    OTHER = 8


class Curve(_Number):
    """Edge kinds."""

    LINE = 0
    CIRCLE = 1
    ELLIPSE = 2
    BSPLINE = 3
    OTHER = 4
    DEGENERATE = 5  # a point: the tip of a cone, the pole of a sphere


@dataclass(frozen=True, slots=True)
class Mesh:
    """The one triangulation that all stages share; T triangles over P points, millimetres."""

    point_mm: Floats  # (P, 3)
    triangle: Ints  # (T, 3) rows of point_mm, counter-clockwise seen from outside
    triangle_face: Ints  # (T,) the face each triangle lies on, rising
    chord_mm: float  # largest distance asked for between a triangle and its surface

    def rows_of(self, faces: Iterable[int]) -> Ints:
        """Return the rows of the triangles of some faces, rising; in no time that grows with the whole mesh."""
        return rows_of(self.triangle_face, faces)

    def corners_mm(self, faces: Iterable[int]) -> Floats:
        """Return (N, 3) the corners of the triangles of some faces."""
        points: Floats = self.point_mm[self.triangle[self.rows_of(faces)].ravel()]
        return points


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing that the kernel's check finds wrong; `code` of model.health.KINDS, `face`: None = the whole shell."""

    code: str
    face: int | None


@dataclass(frozen=True)
class Part:
    """One solid as arrays: F faces, E edges, V vertices, C coedges (a face's use of an edge).

    Row i of every `face_*` is face i of the kernel's order, for ever. Lengths are millimetres, angles degrees;
    nan = the surface has no such number. Outward means out of the material.
    """

    name: str
    count: int  # how often this solid occurs in the file
    valid: bool
    closed: bool  # every edge has two faces
    volume_mm3: float
    area_mm2: float
    centroid_mm: Vec
    box_mm: Floats  # (2, 3) lowest and highest corner

    face_surface: Ints  # (F,) Surface
    face_area_mm2: Floats  # (F,)
    face_centroid_mm: Floats  # (F, 3)
    face_point_mm: Floats  # (F, 3) a point on the face, away from its border
    face_normal: Floats  # (F, 3) outward unit normal at face_point_mm
    face_origin_mm: Floats  # (F, 3) cone: tip; sphere, torus: centre; plane: a point; else a point of the axis
    face_axis: Floats  # (F, 3) unit; plane: the outward normal; else the axis (cone: from the tip into the face)
    face_radius_mm: Floats  # (F,) cylinder, sphere: radius; torus: radius of the centre circle
    face_tube_radius_mm: Floats  # (F,) torus: radius of the tube
    face_half_angle_deg: Floats  # (F,) cone: between axis and flank
    face_concave: Bools  # (F,) curved, and the material lies outside the curve, as in a hole (torus: outside the tube)
    face_span_deg: Floats  # (F,) turn about the axis that the face covers; 360 = all round
    face_along_mm: Floats  # (F, 2) lowest and highest place along face_axis, counted from face_origin_mm
    face_min_radius_mm: Floats  # (F,) free surfaces: smallest radius of curvature on the concave side; inf = none
    face_ball_radius_mm: Floats  # (F, 2) free surfaces: least and largest radius of a ball rolling along; < 0 bulging

    edge_curve: Ints  # (E,) Curve
    edge_length_mm: Floats  # (E,)
    edge_faces: Ints  # (E, 2) the two faces; -1 where the shell is open; the same face twice on a seam
    edge_angle_deg: Floats  # (E,) angle through the material at mid-length: < 180 convex, > 180 concave, nan = open
    edge_mid_mm: Floats  # (E, 3)
    edge_tangent: Floats  # (E, 3) unit, at edge_mid_mm
    edge_vertices: Ints  # (E, 2) first and last vertex; equal on a closed edge
    edge_centre_mm: Floats  # (E, 3) circles: centre, else nan
    edge_axis: Floats  # (E, 3) circles: axis, else nan
    edge_radius_mm: Floats  # (E,) circles: radius, else nan

    vertex_mm: Floats  # (V, 3)
    coedge_face: Ints  # (C,)
    coedge_edge: Ints  # (C,)
    coedge_loop: Ints  # (C,) boundary loop within the face; 0 = the outer one

    mesh: Mesh
    face_name: tuple[str, ...] = field(default=())  # (F,) or empty: names written in the file
    face_colour: Floats | None = None  # (F, 3) red, green, blue in 0..1; nan = none written
    faults: tuple[Fault, ...] = ()  # empty where `valid`
    gap_mm: float = 0.0  # largest distance that is bridged where faces, edges and corners meet

    def __post_init__(self) -> None:
        for each in fields(self):
            value = getattr(self, each.name)
            if isinstance(value, np.ndarray):
                frozen(value)

    @property
    def n_faces(self) -> int:
        """Number of faces, F."""
        return len(self.face_surface)

    @property
    def n_edges(self) -> int:
        """Number of edges, E."""
        return len(self.edge_curve)

    @cached_property
    def _sides(self) -> tuple[Ints, Ints]:
        """Faces of all edges, rising, and beside each the edge."""
        face = self.edge_faces.ravel()
        order = np.argsort(face, kind="stable")
        return face[order], order // 2

    def edges_of(self, faces: Iterable[int]) -> Ints:
        """Return the edges with one of some faces on a side, rising; in no time that grows with all edges."""
        edges = self._sides_of(faces)
        found: Ints = edges[np.diff(edges, prepend=-1) != 0]
        return found

    def edges_within(self, faces: tuple[int, ...]) -> Ints:
        """Return the edges with one of some faces on either side, rising; worked out once for each set of faces."""
        if faces not in self._within:
            edges = self._sides_of(faces)
            self._within[faces] = frozen(edges[np.diff(edges, prepend=-1) == 0])  # a seam's sides are one face
        return self._within[faces]

    @cached_property
    def _within(self) -> dict[tuple[int, ...], Ints]:
        return {}

    def changed(self, **columns: Any) -> "Part":
        """Return the part with other numbers in some columns.

        What was worked out from columns that stay is kept: it is asked for again with each change that is tried.
        """
        after = replace(self, **columns)
        for name, used in _WORKED_OUT.items():
            if name in self.__dict__ and used.isdisjoint(columns):
                after.__dict__[name] = self.__dict__[name]
        return after

    def _sides_of(self, faces: Iterable[int]) -> Ints:
        """Return the edges around some faces, rising; those between two of them twice."""
        face, edge = self._sides
        return np.sort(edge[rows_of(face, faces)])

    @property
    def sound(self) -> bool:
        """Whether the mesh is the skin of a body that is there: then its triangles' backs are never seen."""
        return self.closed and self.valid and self.volume_mm3 > 0

    @cached_property
    def size_mm(self) -> Vec:
        """Edge lengths of the axis-parallel box around the part."""
        x, y, z = (float(v) for v in self.box_mm[1] - self.box_mm[0])
        return (x, y, z)

    @cached_property
    def diagonal_mm(self) -> float:
        """Largest distance between two corners or middles of edges: a block's diagonal, the same however it lies."""
        points = np.concatenate([self.vertex_mm, self.edge_mid_mm])
        known = points[np.isfinite(points).all(axis=1)]
        return widest_mm(known) or float(np.linalg.norm(self.box_mm[1] - self.box_mm[0]))


_WORKED_OUT: dict[str, frozenset[str]] = {
    "_sides": frozenset({"edge_faces"}),
    "_within": frozenset({"edge_faces"}),
    "size_mm": frozenset({"box_mm"}),
    "diagonal_mm": frozenset({"box_mm", "vertex_mm", "edge_mid_mm"}),
}
"""What a part remembers, with the columns it comes from."""
