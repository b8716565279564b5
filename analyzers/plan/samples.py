"""Points spread over every face, each with its outward normal: what a direction must be able to reach."""

from dataclasses import dataclass
from typing import Final

import numpy as np

from analyzers.model.arrays import Bools, Floats, Ints, triangle_normals, unit
from analyzers.model.part import Part, Surface
from analyzers.tolerance import MESH_ANGLE_RAD, SMOOTH_DEG

MOST_POINTS: Final = 24_000
"""Over the whole part: bounds the rays per direction; a part of 500 faces still has 48 points a face."""

MOST_TRIANGLES: Final = 12
"""Of each face, the largest: they carry nearly all of its area."""

INNER: Final = np.array([[1.0, 1.0, 1.0], [2.7, 0.15, 0.15], [0.15, 2.7, 0.15], [0.15, 0.15, 2.7]]) / 3.0
"""Places in a triangle: the middle, and near each corner, so that the ends of a tall wall are seen."""


@dataclass(frozen=True, slots=True)
class Samples:
    """N points on the part's skin."""

    face: Ints  # (N,) sorted
    point_mm: Floats  # (N, 3) on the triangulation
    normal: Floats  # (N, 3) outward: exact on planes, cylinders, cones, spheres, tori; the triangle's elsewhere
    slack_sin: Floats  # (N,) how far below a right angle a normal may point and still be a wall, as a sine


def sample(part: Part) -> Samples:
    """Return points over all faces; the same part gives the same points."""
    corner = part.mesh.point_mm[part.mesh.triangle]  # (T, 3, 3)
    cross = triangle_normals(corner)
    area = np.linalg.norm(cross, axis=1)
    rows = _largest(part, area)
    face = np.repeat(part.mesh.triangle_face[rows], len(INNER))
    point = np.einsum("ij,tjk->tik", INNER, corner[rows]).reshape(-1, 3)
    flat = np.repeat(unit(cross[rows]), len(INNER), axis=0)
    normal, exact = _exact_normals(part, face, point, flat)
    slack = np.full(len(face), np.sin(MESH_ANGLE_RAD / 4.0))
    slack[exact] = np.sin(np.radians(SMOOTH_DEG))
    return Samples(face=face, point_mm=point, normal=normal, slack_sin=slack)


def _largest(part: Part, area: Floats) -> Ints:
    """Return rows of the triangles to use: the largest of each face, faces in order."""
    faces = max(part.n_faces, 1)
    most = int(np.clip(MOST_POINTS // (faces * len(INNER)), 1, MOST_TRIANGLES))
    order = np.lexsort((np.arange(len(area)), -area, part.mesh.triangle_face))
    order = order[area[order] > 0.0]
    owner = part.mesh.triangle_face[order]
    first = np.searchsorted(owner, np.arange(faces))
    rank = np.arange(len(order)) - first[owner]
    rows: Ints = order[rank < most]
    return rows


def _exact_normals(part: Part, face: Ints, point: Floats, flat: Floats) -> tuple[Floats, Bools]:
    """Return outward normals at the points, and where they come from the surface itself and not from its triangles."""
    kind, normal = part.face_surface[face], flat.copy()
    for surface, exact in _EXACT.items():
        rows = np.flatnonzero(kind == surface)
        if len(rows):
            normal[rows] = exact(part, face[rows], point[rows])
    known = np.isfinite(normal).all(axis=1) & (np.abs(np.linalg.norm(normal, axis=1) - 1.0) < 1e-6)
    normal = np.where(known[:, None], normal, flat)
    normal = np.where(np.sum(normal * flat, axis=1, keepdims=True) < 0.0, -normal, normal)
    return normal, known & np.isin(kind, list(_EXACT))


def _of_plane(part: Part, face: Ints, _: Floats) -> Floats:
    return part.face_axis[face]


def _of_cylinder(part: Part, face: Ints, point: Floats) -> Floats:
    return _radial(part, face, point)[0]


def _of_cone(part: Part, face: Ints, point: Floats) -> Floats:
    radial, along = _radial(part, face, point)
    axis, half = part.face_axis[face], np.radians(part.face_half_angle_deg[face])[:, None]
    normal: Floats = radial * np.cos(half) - np.where(along >= 0.0, axis, -axis) * np.sin(half)
    return normal


def _of_sphere(part: Part, face: Ints, point: Floats) -> Floats:
    return unit(point - part.face_origin_mm[face])


def _of_torus(part: Part, face: Ints, point: Floats) -> Floats:
    from_ring = point - part.face_origin_mm[face] - _radial(part, face, point)[0] * part.face_radius_mm[face][:, None]
    return unit(from_ring)


def _radial(part: Part, face: Ints, point: Floats) -> tuple[Floats, Floats]:
    """Return (N, 3) the direction from each face's axis to its point, and (N, 1) the place along the axis."""
    axis, offset = part.face_axis[face], point - part.face_origin_mm[face]
    along = np.sum(offset * axis, axis=1, keepdims=True)
    return unit(offset - along * axis), along


_EXACT: Final = {
    Surface.PLANE: _of_plane,
    Surface.CYLINDER: _of_cylinder,
    Surface.CONE: _of_cone,
    Surface.SPHERE: _of_sphere,
    Surface.TORUS: _of_torus,
}
"""Outward or inward unit normals of M faces at a point each, (M,) and (M, 3)."""
