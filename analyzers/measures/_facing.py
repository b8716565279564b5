"""Points where round faces look at neighbouring round or flat ones: even sampling misses a bore beside a low wall."""

import numpy as np
from scipy.spatial import cKDTree

from analyzers.measures._sample import Samples
from analyzers.measures._sights import start_off
from analyzers.measures._surface import dot
from analyzers.model.arrays import Bools, Floats, Ints, unit
from analyzers.model.geometry import Geometry
from analyzers.model.part import Part, Surface
from analyzers.tolerance import CORNER_INSET_RATIO, FACING_FLATS, FACING_NEIGHBOURS, SAME_LENGTH_MM, SQUARE_SIN


def facing_samples(part: Part, geometry: Geometry, through: float) -> Samples:
    """Return samples on round faces towards their nearest neighbours, which stand for no area.

    `through` 1: hollow cylinders, which look at round and flat faces across the material; -1: round bosses, across
    the air.
    """
    hollow = part.face_concave == (through > 0)
    faces = np.flatnonzero((part.face_surface == Surface.CYLINDER) & hollow)
    here, base, away = (
        np.concatenate(pair)
        for pair in zip(_towards_round(part, faces), _towards_flat(part, faces, through), strict=True)
    )
    point = base + part.face_radius_mm[here, None] * away

    lift = 2.0 * (start_off(part) + part.mesh.chord_mm)
    distance, hit = geometry.first_hits(point + lift * away, -away)
    real = np.flatnonzero((np.linalg.norm(away, axis=1) > 0) & (hit == here) & (distance <= 2.0 * lift))
    return Samples(point_mm=point[real], normal=-through * away[real], face=here[real], area_mm2=np.zeros(len(real)))


def _towards_round(part: Part, faces: Ints) -> tuple[Ints, Floats, Floats]:
    """Return (N,) faces, (N, 3) points of their axes and (N, 3) directions from there to round neighbours."""
    here, there = _neighbours(part, faces)
    towards = _on_axis(part, there, _on_axis(part, here, part.face_origin_mm[there]))
    base = _on_axis(part, here, towards)
    across = towards - base
    return here, base, unit(across - dot(across, part.face_axis[here])[:, None] * part.face_axis[here])


def _towards_flat(part: Part, faces: Ints, through: float) -> tuple[Ints, Floats, Floats]:
    """Return (N,) faces, (N, 3) points of their axes and (N, 3) directions square onto flat faces along the axis.

    At three heights within what both reach, for the nearest flats of each; one counts where the axis stands before it.
    """
    flats = np.flatnonzero(part.face_surface == Surface.PLANE)
    axis, normal = part.face_axis[faces], through * part.face_axis[flats]
    offset = part.face_origin_mm[flats][None] - part.face_origin_mm[faces][:, None]  # (C, M, 3)
    clear = np.einsum("cmi,mi->cm", offset, normal) - part.face_radius_mm[faces, None]
    clear = np.where((np.abs(axis @ normal.T) < SQUARE_SIN) & (clear > SAME_LENGTH_MM), clear, np.inf)
    nearest = np.argsort(clear, axis=1, kind="stable")[:, :FACING_FLATS]
    row, column = np.nonzero(np.isfinite(np.take_along_axis(clear, nearest, axis=1)))
    here, flat = faces[row], nearest[row, column]
    low, high, before = _overlap(part, here, flats[flat])
    inset = CORNER_INSET_RATIO * (high - low)
    kept = np.flatnonzero(before & (high - low > SAME_LENGTH_MM))
    heights = np.stack([low + inset, 0.5 * (low + high), high - inset], axis=1)[kept].ravel()
    here, away = np.repeat(here[kept], 3), np.repeat(normal[flat[kept]], 3, axis=0)
    base = part.face_origin_mm[here] + heights[:, None] * part.face_axis[here]
    return here, base, away


def _overlap(part: Part, here: Ints, flat: Ints) -> tuple[Floats, Floats, Bools]:
    """Return (N,) and (N,) the heights along the axes that both faces reach, and (N,) whether the axis is before it."""
    low, high = part.face_along_mm[here].T.copy()
    before = np.zeros(len(here), dtype=bool)
    vertices = {
        face: np.unique(part.edge_vertices[part.coedge_edge[part.coedge_face == face]]) for face in set(flat.tolist())
    }
    for row, (face, other) in enumerate(zip(here.tolist(), flat.tolist(), strict=True)):
        away = part.vertex_mm[vertices[other]] - part.face_origin_mm[face]
        along, aside = away @ part.face_axis[face], away @ np.cross(part.face_axis[face], part.face_axis[other])
        low[row], high[row] = max(low[row], along.min()), min(high[row], along.max())
        before[row] = aside.min() < 0.0 < aside.max()
    return low, high, before


def _neighbours(part: Part, faces: Ints) -> tuple[Ints, Ints]:
    """Return (N,) and (N,) faces and their nearest neighbours, by the middles of their axes."""
    faces = faces[np.isfinite(part.face_along_mm[faces]).all(axis=1)]  # nan where a face has no triangle
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
