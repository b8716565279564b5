"""Finds the torus that a free surface follows (OpenCascade's recognition has none).

On a torus one principal curvature is the same everywhere: one over the tube radius. Moving each point along its
normal by that radius lands on the tube's centre circle, which gives the starting values; scipy's least squares on
the true distances settles the rest.
"""

import math
from dataclasses import dataclass

import numpy as np
from scipy.optimize import least_squares

from analyzers.model.arrays import Floats, Vec, unit, vec
from analyzers.tolerance import ANALYTIC_FIT_MM, ANALYTIC_START_MM

_FLAT_PER_MM = 1e-4  # a curvature below this, a radius above 10 m, is flat
_EVEN_CURVATURE = 1e-3  # relative spread of the tube's curvature over the samples; a pre-check, the fit decides


@dataclass(frozen=True, slots=True)
class Torus:
    """A torus: the tube's centre circle has `radius`, the tube `tube_radius`."""

    centre: Vec
    axis: Vec
    radius: float
    tube_radius: float


def fit_torus(points: Floats, normals: Floats, curvatures: Floats) -> Torus | None:
    """Return the torus that a sampled surface follows within ANALYTIC_FIT_MM; None = no torus.

    Parameters
    ----------
    points : (N, 3)
    normals : (N, 3) unit
    curvatures : (N, 2) principal curvatures, 1/mm, positive where the centre lies on the normal's side
    """
    if len(points) < 12:
        return None
    middle = np.median(curvatures, axis=0)
    spread = np.abs(curvatures - middle).max(axis=0)
    even = (spread <= _EVEN_CURVATURE * np.abs(middle)) & (np.abs(middle) > _FLAT_PER_MM)
    for column in np.flatnonzero(even).tolist():
        tube = 1.0 / float(middle[column])
        centre, axis, radius = _circle(points + tube * normals)
        first = np.concatenate([centre, axis, [radius, abs(tube)]])
        if np.abs(_residuals(first, points)).max() > ANALYTIC_START_MM:
            continue
        solved = least_squares(_residuals, first, args=(points,), method="lm", xtol=1e-13, ftol=1e-13, max_nfev=600)
        if np.abs(_residuals(solved.x, points)).max() <= ANALYTIC_FIT_MM:
            direction = unit(solved.x[3:6])
            return Torus(vec(solved.x[:3]), vec(direction), abs(float(solved.x[6])), abs(float(solved.x[7])))
    return None


def _residuals(x: Floats, points: Floats) -> Floats:
    """Return (N,) signed distances of the points from the torus x = centre, axis, radius, tube radius."""
    offset = points - x[:3]
    axis = x[3:6] / np.linalg.norm(x[3:6])
    along = offset @ axis
    across = np.linalg.norm(offset - along[:, None] * axis, axis=1)
    distance: Floats = np.hypot(across - x[6], along) - x[7]
    return distance


def _circle(points: Floats) -> tuple[Floats, Floats, float]:
    """Return centre, axis and radius of the circle nearest to (N, 3) points (plane by SVD, then a linear fit)."""
    middle = points.mean(axis=0)
    _, _, rows = np.linalg.svd(points - middle, full_matrices=False)
    flat = (points - middle) @ rows[:2].T
    solution, *_ = np.linalg.lstsq(np.c_[2 * flat, np.ones(len(flat))], (flat**2).sum(axis=1), rcond=None)
    radius = math.sqrt(max(float(solution[2] + solution[:2] @ solution[:2]), 0.0))
    return middle + solution[:2] @ rows[:2], rows[2], radius
