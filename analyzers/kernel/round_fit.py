"""Finds the cylinder, cone or sphere that a sampled free surface follows, where OpenCascade's recognition gives up.

OpenCascade lost cylinders that were 2e-5 mm off, less than exporters are. The normals give the starting values: they
lie square to a cylinder's axis and at one angle to a cone's; scipy's least squares on the true distances settles it.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from scipy.optimize import least_squares

from analyzers.model.arrays import Floats, Vec, cross_product, unit, vec
from analyzers.tolerance import ANALYTIC_FIT_MM, ANALYTIC_START_MM

_LEAST_SAMPLES = 12
_STRAIGHTEST = 1e4  # a radius above 10 m is flat


@dataclass(frozen=True, slots=True)
class Cylinder:
    """`point_mm` lies on the axis."""

    point_mm: Vec
    axis: Vec
    radius_mm: float


@dataclass(frozen=True, slots=True)
class Cone:
    """The axis points from the tip into the samples."""

    tip_mm: Vec
    axis: Vec
    half_angle_deg: float


@dataclass(frozen=True, slots=True)
class Sphere:
    """Centre and radius."""

    centre_mm: Vec
    radius_mm: float


def fit_cylinder(points: Floats, normals: Floats) -> Cylinder | None:
    """Return the cylinder that (N, 3) points with (N, 3) unit normals follow within ANALYTIC_FIT_MM; None = none."""
    if len(points) < _LEAST_SAMPLES:
        return None
    _, spread, rows = np.linalg.svd(normals, full_matrices=False)
    if spread[1] < 1e-6 * spread[0]:  # all normals are one: flat
        return None
    axis = rows[2]
    flat = points @ rows[:2].T
    centre, radius = _circle(flat)
    if not 0.0 < radius < _STRAIGHTEST:
        return None
    first = np.concatenate([centre @ rows[:2] + (points.mean(axis=0) @ axis) * axis, axis, [radius]])
    solved = _settled(_off_cylinder, first, points)
    if solved is None:
        return None
    return Cylinder(vec(solved[:3]), vec(unit(solved[3:6])), abs(float(solved[6])))


def fit_cone(points: Floats, normals: Floats) -> Cone | None:
    """Return the cone that (N, 3) points with (N, 3) unit normals follow within ANALYTIC_FIT_MM; None = none."""
    if len(points) < _LEAST_SAMPLES:
        return None
    middle = normals.mean(axis=0)
    _, spread, rows = np.linalg.svd(normals - middle, full_matrices=False)
    if spread[1] < 1e-6:
        return None
    axis = rows[2]
    lean = float(np.clip(middle @ axis, -1.0, 1.0))
    tip, *_ = np.linalg.lstsq(normals, np.einsum("ij,ij->i", normals, points), rcond=None)
    if float((points.mean(axis=0) - tip) @ axis) < 0:
        axis = -axis
    half = abs(math.asin(lean))
    if not math.radians(0.1) < half < math.radians(89.9):
        return None
    solved = _settled(_off_cone, np.concatenate([tip, axis, [half]]), points)
    if solved is None:
        return None
    return Cone(vec(solved[:3]), vec(unit(solved[3:6])), math.degrees(abs(float(solved[6]))))


def fit_sphere(points: Floats) -> Sphere | None:
    """Return the sphere that (N, 3) points follow within ANALYTIC_FIT_MM; None = none."""
    if len(points) < _LEAST_SAMPLES:
        return None
    centre, radius = _circle(points)
    if not 0.0 < radius < _STRAIGHTEST:
        return None
    solved = _settled(_off_sphere, np.append(centre, radius), points)
    return None if solved is None else Sphere(vec(solved[:3]), abs(float(solved[3])))


def _settled(off: Callable[[Floats, Floats], Floats], first: Floats, points: Floats) -> Floats | None:
    """Return the best values if the surface then keeps to the points; None where it does not, or starts far off."""
    if np.abs(off(first, points)).max() > ANALYTIC_START_MM:
        return None
    solved = least_squares(off, first, args=(points,), method="lm", xtol=1e-13, ftol=1e-13, max_nfev=400)
    return solved.x if np.abs(off(solved.x, points)).max() <= ANALYTIC_FIT_MM else None


def _off_cylinder(x: Floats, points: Floats) -> Floats:
    """Return (N,) distances of the points from the cylinder x = point of the axis, axis, radius."""
    away: Floats = np.linalg.norm(cross_product(points - x[:3], unit(x[3:6])), axis=1) - x[6]
    return away


def _off_cone(x: Floats, points: Floats) -> Floats:
    """Return (N,) distances of the points from the cone x = tip, axis, half angle in radians."""
    offset, axis = points - x[:3], unit(x[3:6])
    along = offset @ axis
    across = np.linalg.norm(offset - along[:, None] * axis, axis=1)
    away: Floats = across * np.cos(x[6]) - along * np.sin(x[6])
    return away


def _off_sphere(x: Floats, points: Floats) -> Floats:
    """Return (N,) distances of the points from the sphere x = centre, radius."""
    away: Floats = np.linalg.norm(points - x[:3], axis=1) - x[3]
    return away


def _circle(points: Floats) -> tuple[Floats, float]:
    """Return centre and radius of the circle or sphere nearest to (N, 2) or (N, 3) points, by a linear fit."""
    middle = points.mean(axis=0)
    offset = points - middle
    table = np.c_[2 * offset, np.ones(len(points))]
    solution, *_ = np.linalg.lstsq(table, (offset**2).sum(axis=1), rcond=None)
    centre = solution[:-1]
    return middle + centre, math.sqrt(max(float(solution[-1] + centre @ centre), 0.0))
