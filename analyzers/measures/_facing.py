"""Points where neighbouring round faces look at one another: even sampling misses two small bores side by side."""

import numpy as np
from scipy.spatial import cKDTree

from analyzers.measures._sample import Samples
from analyzers.measures._sights import start_off
from analyzers.measures._surface import dot
from analyzers.model.arrays import Floats, Ints, unit
from analyzers.model.geometry import Geometry
from analyzers.model.part import Part, Surface
from analyzers.tolerance import CORNER_INSET_RATIO, FACING_NEIGHBOURS


def facing_samples(part: Part, geometry: Geometry, through: float) -> Samples:
    """Return samples on round faces towards their nearest neighbours of the kind, which stand for no area.

    `through` 1: hollow cylinders, which look at one another across the material; -1: round bosses, across the air.
    """
    hollow = part.face_concave == (through > 0)
    faces = np.flatnonzero((part.face_surface == Surface.CYLINDER) & hollow)
    here, there = _neighbours(part, faces)
    towards = _on_axis(part, there, _on_axis(part, here, part.face_origin_mm[there]))
    base = _on_axis(part, here, towards)
    across = towards - base
    away = unit(across - dot(across, part.face_axis[here])[:, None] * part.face_axis[here])
    point = base + part.face_radius_mm[here, None] * away

    lift = 2.0 * (start_off(part) + part.mesh.chord_mm)
    distance, hit = geometry.first_hits(point + lift * away, -away)
    real = np.flatnonzero((np.linalg.norm(away, axis=1) > 0) & (hit == here) & (distance <= 2.0 * lift))
    return Samples(point_mm=point[real], normal=-through * away[real], face=here[real], area_mm2=np.zeros(len(real)))


def _neighbours(part: Part, faces: Ints) -> tuple[Ints, Ints]:
    """Return (N,) and (N,) faces and their nearest neighbours, by the middles of their axes."""
    if len(faces) < 2:
        nothing = np.zeros(0, dtype=np.int64)
        return nothing, nothing
    middle = part.face_origin_mm[faces] + part.face_along_mm[faces].mean(axis=1)[:, None] * part.face_axis[faces]
    _, near = cKDTree(middle).query(middle, k=min(FACING_NEIGHBOURS + 1, len(faces)))
    here = np.repeat(faces, near.shape[1])
    there = faces[near.ravel()]
    return here[here != there], there[here != there]


def _on_axis(part: Part, face: Ints, point_mm: Floats) -> Floats:
    """Return (N, 3) the nearest points on the faces' axes, within the faces' lengths but for a little at each end."""
    axis, origin = part.face_axis[face], part.face_origin_mm[face]
    low, high = part.face_along_mm[face].T
    inset = CORNER_INSET_RATIO * (high - low)
    along = np.clip(dot(point_mm - origin, axis), low + inset, high - inset)
    nearest: Floats = origin + along[:, None] * axis
    return nearest
