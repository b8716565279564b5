"""Points where round faces look at neighbouring round or flat ones: even sampling misses a bore beside a low wall."""

import numpy as np
from scipy.spatial import cKDTree

from analyzers.measures._sample import Samples
from analyzers.measures._sights import start_off
from analyzers.measures._surface import dot
from analyzers.model.arrays import Bools, Floats, Ints, cross_product, unit
from analyzers.model.geometry import Geometry
from analyzers.model.part import Part, Surface
from analyzers.tolerance import CORNER_INSET_RATIO, FACING_FLATS, FACING_NEIGHBOURS, SAME_LENGTH_MM, SQUARE_SIN

_AT_ONCE = 1 << 20  # pairs of a round and a flat face that are looked at together


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
    flats = _flats(part)
    here, flat = _nearest(part, faces, flats, through)
    low, high, before = _overlap(part, here, flat)
    inset = CORNER_INSET_RATIO * (high - low)
    kept = np.flatnonzero(before & (high - low > SAME_LENGTH_MM))
    heights = np.stack([low + inset, 0.5 * (low + high), high - inset], axis=1)[kept].ravel()
    here, away = np.repeat(here[kept], 3), np.repeat(through * part.face_axis[flat[kept]], 3, axis=0)
    base = part.face_origin_mm[here] + heights[:, None] * part.face_axis[here]
    return here, base, away


def _flats(part: Part) -> Ints:
    """Return the flat faces, of more than FACING_FLATS in one plane the first ones."""
    flats = np.flatnonzero(part.face_surface == Surface.PLANE)
    offset = dot(part.face_origin_mm[flats], part.face_axis[flats])
    places = np.round(np.c_[part.face_axis[flats], offset] / SAME_LENGTH_MM)
    _, plane = np.unique(places, axis=0, return_inverse=True)
    order = np.argsort(plane, kind="stable")
    number = np.arange(len(order)) - np.searchsorted(plane[order], plane[order])
    return np.sort(flats[order[number < FACING_FLATS]])


def _nearest(part: Part, faces: Ints, flats: Ints, through: float) -> tuple[Ints, Ints]:
    """Return (N,) faces and (N,) up to FACING_FLATS flats of each, along its axis and before it, nearest first."""
    found = [(np.zeros(0, dtype=np.int64), np.zeros(0, dtype=np.int64))]
    normal = through * part.face_axis[flats]
    several = max(_AT_ONCE // max(len(flats), 1), 1)
    for some in np.split(faces, np.arange(several, len(faces), several)):
        offset = part.face_origin_mm[flats][None] - part.face_origin_mm[some][:, None]  # (C, M, 3)
        clear = np.einsum("cmi,mi->cm", offset, normal) - part.face_radius_mm[some, None]
        along = np.abs(part.face_axis[some] @ normal.T) < SQUARE_SIN
        clear = np.where(along & (clear > SAME_LENGTH_MM), clear, np.inf)
        nearest = np.argsort(clear, axis=1, kind="stable")[:, :FACING_FLATS]
        row, column = np.nonzero(np.isfinite(np.take_along_axis(clear, nearest, axis=1)))
        found.append((some[row], flats[nearest[row, column]]))
    here, there = (np.concatenate(each) for each in zip(*found, strict=True))
    return here, there


def _overlap(part: Part, here: Ints, flat: Ints) -> tuple[Floats, Floats, Bools]:
    """Return (N,) and (N,) the heights along the axes that both faces reach, and (N,) whether the axis is before it."""
    order = np.argsort(part.coedge_face, kind="stable")
    first = np.searchsorted(part.coedge_face, np.arange(part.n_faces + 1), sorter=order)
    ways, row = np.unique(np.c_[flat, part.face_axis[here]], axis=0, return_inverse=True)
    reach = np.zeros((len(ways), 4))  # along the axis and across it, seen from the origin
    for number, (face, *axis) in enumerate(ways.tolist()):
        edges = part.coedge_edge[order[first[int(face)] : first[int(face) + 1]]]
        corner = part.vertex_mm[np.unique(part.edge_vertices[edges])]
        along, aside = corner @ np.array(axis), corner @ cross_product(np.array(axis), part.face_axis[int(face)])
        reach[number] = along.min(), along.max(), aside.min(), aside.max()
    origin, axis = part.face_origin_mm[here], part.face_axis[here]
    along, aside = dot(origin, axis), dot(origin, cross_product(axis, part.face_axis[flat]))
    low = np.maximum(part.face_along_mm[here, 0], reach[row, 0] - along)
    high = np.minimum(part.face_along_mm[here, 1], reach[row, 1] - along)
    return low, high, (reach[row, 2] < aside) & (aside < reach[row, 3])


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
