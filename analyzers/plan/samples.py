"""Points spread over every face, each with its outward normal: what a direction must be able to reach."""

from dataclasses import dataclass
from typing import Final

import numpy as np

from analyzers.model.arrays import Bools, Floats, Ints, unit
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
    cross = np.cross(corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0])
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
    kind = part.face_surface[face]
    axis, offset = part.face_axis[face], point - part.face_origin_mm[face]
    with np.errstate(invalid="ignore"):
        along = np.sum(offset * axis, axis=1, keepdims=True)
        radial = unit(offset - along * axis)
        half = np.radians(part.face_half_angle_deg[face])[:, None]
        from_ring = offset - radial * part.face_radius_mm[face][:, None]
        by_kind = {
            Surface.PLANE: axis,
            Surface.CYLINDER: radial,
            Surface.CONE: radial * np.cos(half) - np.where(along >= 0.0, axis, -axis) * np.sin(half),
            Surface.SPHERE: unit(offset),
            Surface.TORUS: unit(from_ring),
        }
        normal = flat.copy()
        for surface, exact in by_kind.items():
            normal = np.where((kind == surface)[:, None], exact, normal)
    known = np.isfinite(normal).all(axis=1) & (np.abs(np.linalg.norm(normal, axis=1) - 1.0) < 1e-6)
    normal = np.where(known[:, None], normal, flat)
    normal = np.where(np.sum(normal * flat, axis=1, keepdims=True) < 0.0, -normal, normal)
    return normal, known & np.isin(kind, list(by_kind))
