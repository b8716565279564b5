"""Which faces of two bodies are alike in everything but their place."""

import numpy as np

from analyzers.model.arrays import Floats, Ints
from analyzers.model.part import Part
from analyzers.tolerance import MASS_ERROR, SAME_PLACE_MM


def alike_faces(first: Part, second: Part) -> tuple[Ints, Ints]:
    """Return (F,) and (F,) numbers, equal for faces of both parts that differ at most in their place."""
    rows = np.concatenate([_sizes(first), _sizes(second)])
    order = np.argsort(rows, axis=0)
    new = np.diff(np.take_along_axis(rows, order, axis=0), axis=0, prepend=rows.min(axis=0)[None]) > 1.0
    level = np.empty_like(order)
    np.put_along_axis(level, order, np.cumsum(new, axis=0), axis=0)
    _, label = np.unique(level, axis=0, return_inverse=True)
    return label[: first.n_faces], label[first.n_faces :]


def _sizes(part: Part) -> Floats:
    """Return (F, 6) kind, side, area, radii and half angle of each face, in steps within which faces are alike."""
    lengths = np.stack([part.face_radius_mm, part.face_tube_radius_mm, part.face_half_angle_deg], axis=1)
    area = np.log(np.maximum(part.face_area_mm2, SAME_PLACE_MM**2)) / (10 * MASS_ERROR)
    return np.column_stack([2 * part.face_surface, 2 * part.face_concave, area, np.nan_to_num(lengths) / SAME_PLACE_MM])
