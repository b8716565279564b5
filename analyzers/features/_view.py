"""What every recogniser may look at: the part, and what is derived from it once."""

from collections.abc import Callable, Hashable, Iterable
from dataclasses import dataclass, field
from functools import cached_property
from typing import TypeVar, cast

import numpy as np
from scipy.spatial import ConvexHull, QhullError

from analyzers.features._blends import Blends, find_blends
from analyzers.features._surfaces import surface_numbers
from analyzers.features._void import Lookouts
from analyzers.model.arrays import Bools, Floats, Ints, cross_product, unit
from analyzers.model.facegraph import concave_edges, convex_edges, edges_of_faces, other_side, smooth_edges
from analyzers.model.geometry import Geometry
from analyzers.model.part import Part, Surface
from analyzers.tolerance import PARALLEL_COS, SAME_PLACE_MM, SQUARE_SIN

_T = TypeVar("_T")

INNER_JOINS = "inner chamfer joins"  # remembered pairs of faces that meet across a chamfer in an inside corner
_FIRST_TRIES = 6  # directions tried as the first of the frame


@dataclass(eq=False)
class View:
    """One part under recognition. `free` marks the faces that no recogniser of lower rank has claimed.

    `claimed_by` gives the kind of feature that owns each claimed face, "" for a free one.
    """

    part: Part
    geometry: Geometry
    free: Bools = field(init=False)
    claimed_by: list[str] = field(init=False)
    _remembered: dict[Hashable, object] = field(init=False, default_factory=dict)

    def __post_init__(self) -> None:
        self.free = np.ones(self.part.n_faces, dtype=bool)
        self.claimed_by = [""] * self.part.n_faces

    @cached_property
    def around(self) -> list[list[int]]:
        """Edges around each face."""
        return edges_of_faces(self.part)

    @cached_property
    def coedges(self) -> list[list[int]]:
        """Rows of the coedges of each face."""
        found: list[list[int]] = [[] for _ in range(self.part.n_faces)]
        for row, face in enumerate(self.part.coedge_face.tolist()):
            found[face].append(row)
        return found

    @cached_property
    def joins(self) -> list[list[int]]:
        """Rows of `blends.joins` that each face is in."""
        found: list[list[int]] = [[] for _ in range(self.part.n_faces)]
        for row, pair in enumerate(self.blends.joins.tolist()):
            for face in set(pair):
                found[face].append(row)
        return found

    @cached_property
    def concave(self) -> Bools:
        """(E,) inside corners."""
        return concave_edges(self.part)

    @cached_property
    def convex(self) -> Bools:
        """(E,) outside corners."""
        return convex_edges(self.part)

    @cached_property
    def smooth(self) -> Bools:
        """(E,) no corner."""
        return smooth_edges(self.part)

    @cached_property
    def surface(self) -> Ints:
        """(F,) equal where faces lie on one surface."""
        return surface_numbers(self.part)

    @cached_property
    def blends(self) -> Blends:
        """Fillets and edge rounds, and what they join."""
        return find_blends(self.part)

    @cached_property
    def lookouts(self) -> Lookouts:
        """Points just off every face."""
        return Lookouts(self.part, self.geometry)

    @cached_property
    def hull_mm(self) -> Floats:
        """(H, 3) corners of the convex hull of the triangulation."""
        points = self.part.mesh.point_mm
        try:
            return np.asarray(points[ConvexHull(points).vertices])
        except QhullError:  # flat or degenerate: every point is on the hull
            return points

    @cached_property
    def centres_mm(self) -> tuple[Floats, Floats]:
        """(3,) centre of mass and (3,) centre of the surface: they tell the ends apart wherever the part lies."""
        part = self.part
        skin = np.average(part.face_centroid_mm, axis=0, weights=part.face_area_mm2)
        return np.array(part.centroid_mm), np.asarray(skin)

    @cached_property
    def supporting(self) -> Bools:
        """(F,) planes with the whole part on one side: faces that the raw block may have had."""
        part = self.part
        plane = part.face_surface == Surface.PLANE
        reach = np.full(part.n_faces, np.inf)
        offset = np.einsum("ij,ij->i", part.face_axis, part.face_origin_mm)
        reach[plane] = (self.hull_mm @ part.face_axis[plane].T).max(axis=0) - offset[plane]
        supports: Bools = reach <= 10 * SAME_PLACE_MM
        return supports

    @cached_property
    def frame(self) -> Floats:
        """(3, 3) rows: three perpendicular directions that most of the plane area follows."""
        part = self.part
        plane = np.flatnonzero(part.face_surface == Surface.PLANE)
        round_ = np.flatnonzero(part.face_surface == Surface.CYLINDER)
        direction = np.concatenate([part.face_axis[plane], part.face_axis[round_]])
        weight = np.concatenate([part.face_area_mm2[plane], 0.1 * part.face_area_mm2[round_]])
        best, score = np.eye(3), -1.0
        for first in _heaviest(direction, weight, _FIRST_TRIES):
            lying = np.abs(direction @ first) < SQUARE_SIN
            across = _heaviest(direction[lying], weight[lying], 1)
            second = across[0] if len(across) else cross_product(first, np.eye(3)[np.argmin(np.abs(first))])
            second = unit(second - (second @ first) * first)
            rows = np.stack([first, second, cross_product(first, second)])
            followed = (np.abs(direction @ rows.T) > PARALLEL_COS).any(axis=1)
            total = round(float(weight[followed].sum()), 6)
            if total > score:
                best, score = rows, total
        return best

    @cached_property
    def corners(self) -> list[list[int]]:
        """For each face the faces it meets in an inside corner, sharp or filleted."""
        part, found = self.part, [dict[int, None]() for _ in range(self.part.n_faces)]
        pairs = [*part.edge_faces[self.concave].tolist()]
        hollow = self.blends.concave[self.blends.join_blend]
        pairs += self.blends.joins[hollow].tolist()
        for left, right in pairs:
            found[left][right] = None
            found[right][left] = None
        return [list(each) for each in found]

    def remember(self, name: Hashable, find: Callable[[], _T]) -> _T:
        """Return what `find` gave the first time it was asked for under this name."""
        if name not in self._remembered:
            self._remembered[name] = find()
        return cast(_T, self._remembered[name])

    def points_of(self, faces: Iterable[int]) -> Floats:
        """Return (N, 3) corners of the triangles of some faces, of their border where a face has no triangles."""
        part, found = self.part, [np.empty((0, 3))]
        for face in faces:
            rows = self._mesh_rows[face]
            if len(rows):
                found.append(part.mesh.point_mm[part.mesh.triangle[rows].ravel()])
            else:  # a face that could not be triangulated: its border
                found.append(part.vertex_mm[part.edge_vertices[self.around[face]].ravel()])
        return np.concatenate(found)

    @cached_property
    def _mesh_rows(self) -> list[Ints]:
        first = np.searchsorted(self.part.mesh.triangle_face, np.arange(self.part.n_faces + 1))
        return [np.arange(first[f], first[f + 1]) for f in range(self.part.n_faces)]

    def easiest_way(self, faces: tuple[int, ...]) -> Floats:
        """Return the direction, along an axis of the faces or of the part, in which most of them see out."""
        part, rows = self.part, list(faces)
        own = part.face_axis[rows][np.isin(part.face_surface[rows], (Surface.CYLINDER, Surface.CONE, Surface.TORUS))]
        ways = np.concatenate([own[:1], -own[:1], self.frame, -self.frame])
        out = self.lookouts.escapes(self.lookouts.of(faces), ways).mean(axis=0)
        outward = unit((part.face_normal[rows] * part.face_area_mm2[rows, None]).sum(axis=0))
        along = np.arange(len(ways)) < 2 * len(own[:1])  # at equal sight a cutter along the blend needs no 3D path
        order = np.lexsort((-np.round(ways @ outward, 6), ~along, -np.round(out, 2)))
        return np.asarray(ways[order[0]])

    def beyond(self, rim: int, face: int) -> list[int]:
        """Return the faces that a narrow rim (blend or chamfer) joins to `face`, in the order of the rim's edges."""
        beside = dict.fromkeys(self.across(edge, rim) for edge in self.around[rim] if not self.concave[edge])
        return [other for other in beside if other not in (rim, face) and not self.blends.is_blend[other]]

    def across(self, edge: int, face: int) -> int:
        """Return the face on the other side of an edge; -1 where there is none."""
        return other_side(self.part, edge, face)


def _heaviest(direction: Floats, weight: Floats, count: int) -> Floats:
    """Return up to `count` directions (either sense), no two alike, that gather most weight, heaviest first."""
    found: list[Floats] = []
    order = np.argsort(-weight, kind="stable")[:64]
    total = np.round((np.abs(direction[order] @ direction.T) > PARALLEL_COS) @ weight, 6)
    for row in np.argsort(-total, kind="stable").tolist():
        each = direction[order[row]]
        if len(found) < count and all(abs(float(each @ other)) < PARALLEL_COS for other in found):
            found.append(each)
    return np.array(found).reshape(-1, 3)
