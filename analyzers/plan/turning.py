"""What runs about a lathe's axis, and so can be cut from either end of the part."""

import numpy as np

from analyzers.model.arrays import Bools, Floats, unit
from analyzers.model.part import Part, Surface
from analyzers.plan.frame import parallel
from analyzers.plan.samples import Samples
from analyzers.plan.sight import Sight
from analyzers.tolerance import SAME_PLACE_MM

ROUND = (Surface.CYLINDER, Surface.CONE, Surface.TORUS, Surface.REVOLUTION)


def axis_point(part: Part, axis: Floats) -> Floats:
    """Return (3,) a point of the turning axis: that of the largest outside cylinder along it, else the centroid."""
    runs = np.isin(part.face_surface, ROUND) & parallel(part.face_axis, axis) & ~part.face_concave
    rows = np.flatnonzero(runs)
    if not len(rows):
        return np.array(part.centroid_mm)
    largest = rows[int(np.argmax(part.face_area_mm2[rows]))]
    point: Floats = part.face_origin_mm[largest]
    return point


def runs_about(part: Part, axis: Floats) -> Bools:
    """Return (F,) True for faces that a turn about the axis maps onto themselves: rounds about it, planes across it."""
    away = part.face_origin_mm - axis_point(part, axis)
    off_axis = np.linalg.norm(away - (away @ axis)[:, None] * axis, axis=1)
    with np.errstate(invalid="ignore"):
        along = parallel(part.face_axis, axis)
        centred = off_axis <= SAME_PLACE_MM
    rounds = np.isin(part.face_surface, ROUND) & along & centred
    balls = (part.face_surface == Surface.SPHERE) & centred
    runs: Bools = rounds | balls | ((part.face_surface == Surface.PLANE) & along)
    return runs


def turned_from_outside(part: Part, samples: Samples, sight: Sight, axis: Floats) -> Bools:
    """Return (N,) True where a turning tool that comes in from outside reaches what runs about the axis."""
    offset = samples.point_mm - axis_point(part, axis)
    along = offset @ axis
    outward = unit(offset - along[:, None] * axis)
    reached: Bools = runs_about(part, axis)[samples.face] & sight.clear_each(outward)
    return reached
