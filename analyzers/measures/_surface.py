"""Exact points and normals of plane, cylinder, cone, sphere and torus, from the part's arrays alone; row by row."""

import numpy as np

from analyzers.model.arrays import Bools, Floats, Ints, unit
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
    kind = part.face_surface[face]
    offset = point_mm - part.face_origin_mm[face]
    along = dot(offset, part.face_axis[face])
    away = _away_from_axis(part, face, offset, along)

    rows = np.flatnonzero(kind == Surface.PLANE)
    foot[rows] -= along[rows, None] * part.face_axis[face[rows]]

    rows = np.flatnonzero(kind == Surface.CYLINDER)
    low, high = part.face_along_mm[face[rows]].T
    foot[rows] = _at(part, face[rows], np.clip(along[rows], low, high), part.face_radius_mm[face[rows]], away[rows])

    rows = np.flatnonzero(kind == Surface.CONE)
    half = np.radians(part.face_half_angle_deg[face[rows]])
    low, high = part.face_along_mm[face[rows]].T / np.cos(half)
    flank = along[rows] * np.cos(half) + dot(offset[rows], away[rows]) * np.sin(half)
    flank = np.clip(flank, np.maximum(low, 0.0), high)
    foot[rows] = _at(part, face[rows], flank * np.cos(half), flank * np.sin(half), away[rows])

    rows = np.flatnonzero(kind == Surface.SPHERE)
    centre = part.face_origin_mm[face[rows]]
    foot[rows] = centre + part.face_radius_mm[face[rows], None] * unit(offset[rows])

    rows = np.flatnonzero(kind == Surface.TORUS)
    tube = part.face_origin_mm[face[rows]] + part.face_radius_mm[face[rows], None] * away[rows]
    foot[rows] = tube + part.face_tube_radius_mm[face[rows], None] * unit(point_mm[rows] - tube)
    return foot


def outward(part: Part, face: Ints, point_mm: Floats) -> Floats:
    """Return (N, 3) outward unit normals at the feet of the points; nan for free surfaces."""
    normal = np.full((len(face), 3), np.nan)
    kind = part.face_surface[face]
    offset = point_mm - part.face_origin_mm[face]
    along = dot(offset, part.face_axis[face])
    away = _away_from_axis(part, face, offset, along)

    rows = kind == Surface.PLANE
    normal[rows] = part.face_axis[face[rows]]

    rows = kind == Surface.CYLINDER
    normal[rows] = away[rows]

    rows = kind == Surface.CONE
    half = np.radians(part.face_half_angle_deg[face[rows]])[:, None]
    normal[rows] = away[rows] * np.cos(half) - part.face_axis[face[rows]] * np.sin(half)

    rows = kind == Surface.SPHERE
    normal[rows] = unit(offset[rows])

    rows = kind == Surface.TORUS
    normal[rows] = unit(offset[rows] - part.face_radius_mm[face[rows], None] * away[rows])

    turned = (kind != Surface.PLANE) & part.face_concave[face]
    normal[turned] *= -1.0
    return normal


def _at(part: Part, face: Ints, along: Floats, radius: Floats, away: Floats) -> Floats:
    """Return (N, 3) points given along and away from the faces' axes."""
    point: Floats = part.face_origin_mm[face] + along[:, None] * part.face_axis[face] + radius[:, None] * away
    return point


def _away_from_axis(part: Part, face: Ints, offset: Floats, along: Floats) -> Floats:
    """Return (N, 3) unit vectors from each face's axis to the point; any one across it for a point on the axis."""
    axis = part.face_axis[face]
    across = offset - along[:, None] * axis
    away = unit(across)
    lost = np.flatnonzero(~(np.linalg.norm(across, axis=1) > 0))
    if len(lost):
        helper = np.eye(3)[np.argmin(np.abs(np.nan_to_num(axis[lost])), axis=1)]
        away[lost] = unit(np.cross(axis[lost], helper))
    return away
