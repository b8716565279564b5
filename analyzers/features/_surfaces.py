"""Which faces lie on one and the same surface, though the exporter or another feature split them."""

import numpy as np
from scipy.spatial import cKDTree

from analyzers.model.arrays import Floats, Ints
from analyzers.model.facegraph import groups
from analyzers.model.part import Part, Surface
from analyzers.tolerance import LARGEST_MM, SAME_ANGLE_DEG, SAME_PLACE_MM

_ANGLE_SCALE = SAME_PLACE_MM / np.radians(SAME_ANGLE_DEG)  # a turn of SAME_ANGLE_DEG counts as much as SAME_PLACE_MM
_EQUAL_MM = 1e-3 * SAME_PLACE_MM


def surface_numbers(part: Part) -> Ints:
    """Return (F,) a number per face; equal where faces lie on one surface with the material on the same side.

    Free surfaces get a number each: nothing says that two of them are one.
    """
    n = part.n_faces
    middle = part.box_mm.mean(axis=0)
    pairs = [
        _pairs(part, Surface.PLANE, _plane_rows(part, middle)),
        _pairs(part, Surface.CYLINDER, _axis_rows(part, middle, part.face_radius_mm)),
        _pairs(part, Surface.CONE, _cone_rows(part, middle)),
        _pairs(part, Surface.SPHERE, np.column_stack([part.face_origin_mm - middle, part.face_radius_mm])),
        _pairs(part, Surface.TORUS, _torus_rows(part, middle)),
    ]
    return groups(n, np.concatenate(pairs))


def axis_numbers(part: Part) -> Ints:
    """Return (F,) a number per axis: equal where cylinders, cones and tori turn about one line; -1 on other faces."""
    turning = np.isin(part.face_surface, (Surface.CYLINDER, Surface.CONE, Surface.TORUS))
    faces = np.flatnonzero(turning)
    number = np.full(part.n_faces, -1, dtype=np.int64)
    if len(faces):
        rows = _line_rows(part, part.box_mm.mean(axis=0))[faces]
        number[faces] = groups(len(faces), _near(rows))
    return number


def _pairs(part: Part, kind: Surface, rows: Floats) -> Ints:
    """Return (N, 2) pairs of faces of one kind whose rows of numbers agree within SAME_PLACE_MM."""
    faces = np.flatnonzero(part.face_surface == kind)
    if len(faces) < 2:
        return np.empty((0, 2), dtype=np.int64)
    side = np.where(part.face_concave[faces], 1.0, -1.0)  # two sheets of one surface with material between are two
    return faces[_near(np.c_[rows[faces], side])]


def _near(rows: Floats) -> Ints:
    """Return (N, 2) pairs that join all rows within 2 SAME_PLACE_MM of one another, directly or by others.

    Numbers beyond every model agree with nothing. Equal rows are joined to one of them only: 2,500 tops of fins in one
    plane have three million pairs.
    """
    known = np.flatnonzero((np.abs(rows) <= LARGEST_MM).all(axis=1))  # nan is not
    _, first, which = np.unique(np.round(rows[known] / _EQUAL_MM), axis=0, return_index=True, return_inverse=True)
    near = cKDTree(rows[known[first]]).query_pairs(2.0 * SAME_PLACE_MM, output_type="ndarray").reshape(-1, 2)
    return np.concatenate([np.c_[known[first[which.ravel()]], known], known[first[near]]])


def _plane_rows(part: Part, middle: Floats) -> Floats:
    """Return (F, 4) outward normal, scaled so that angles weigh like places, and distance from the middle."""
    normal = part.face_axis
    distance = np.einsum("ij,ij->i", part.face_origin_mm - middle, normal)
    return np.column_stack([normal * _ANGLE_SCALE, distance])


def _line_rows(part: Part, middle: Floats) -> Floats:
    """Return (F, 9) an axis as numbers that do not depend on its sense: outer product and foot of the middle."""
    axis = part.face_axis
    offset = part.face_origin_mm - middle
    foot = offset - np.einsum("ij,ij->i", offset, axis)[:, None] * axis
    outer = np.stack([axis[:, i] * axis[:, j] for i, j in ((0, 0), (1, 1), (2, 2), (0, 1), (0, 2), (1, 2))], axis=1)
    return np.column_stack([outer * _ANGLE_SCALE, foot])


def _axis_rows(part: Part, middle: Floats, radius: Floats) -> Floats:
    return np.column_stack([_line_rows(part, middle), radius])


def _cone_rows(part: Part, middle: Floats) -> Floats:
    return np.column_stack([part.face_axis * _ANGLE_SCALE, part.face_origin_mm - middle, part.face_half_angle_deg])


def _torus_rows(part: Part, middle: Floats) -> Floats:
    centre = part.face_origin_mm - middle
    return np.column_stack([_line_rows(part, middle), centre, part.face_radius_mm, part.face_tube_radius_mm])
