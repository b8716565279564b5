"""Finds the line, circle or ellipse that a sampled free curve follows.

Exporters write the edges between splines as splines, and some write all curves so. A line is two points, a circle the
best plane (by SVD) and a linear fit within it; both are checked against every sample.
"""

import math
from dataclasses import dataclass

import numpy as np

from analyzers.model.arrays import Floats, Vec, cross_product, vec
from analyzers.model.part import Curve
from analyzers.tolerance import ANALYTIC_FIT_MM

_LEAST_SAMPLES = 6
_CLEARLY = 100.0  # an arc that fits this many times better than the line through its ends is no line, however flat
_EXACT_MM = 1e-6  # a line this good is one
_LARGEST_MM = 1e4  # a radius above 10 m is straight


@dataclass(frozen=True, slots=True)
class PlainCurve:
    """What a free curve is in truth; a circle runs about its axis as a screw."""

    kind: Curve
    centre: Vec | None = None
    axis: Vec | None = None
    radius: float = math.nan


def fit_curve(points: Floats) -> PlainCurve | None:
    """Return the line, circle or ellipse that (N, 3) points in order follow within ANALYTIC_FIT_MM; None = none."""
    if len(points) < _LEAST_SAMPLES or not np.isfinite(points).all():
        return None
    if float(np.ptp(points, axis=0).max()) <= 10 * ANALYTIC_FIT_MM:  # a point, whatever its form
        return None
    off_line = _off_line(points)
    if off_line <= _EXACT_MM:
        return PlainCurve(Curve.LINE)
    middle = points.mean(axis=0)
    _, spread, rows = np.linalg.svd(points - middle, full_matrices=False)
    lift = float(np.abs((points - middle) @ rows[2]).max())
    flat = (points - middle) @ rows[:2].T
    centre, radius = _circle(flat)
    off_circle = max(lift, float(np.abs(np.linalg.norm(flat - centre, axis=1) - radius).max()))
    if off_line <= ANALYTIC_FIT_MM and _CLEARLY * off_circle >= off_line:
        return PlainCurve(Curve.LINE)
    if off_circle <= ANALYTIC_FIT_MM and radius < _LARGEST_MM:
        return _arc(flat - centre, middle + centre @ rows[:2], rows, radius)
    if lift <= ANALYTIC_FIT_MM and _off_ellipse(flat / spread[0]) * spread[0] <= ANALYTIC_FIT_MM:
        return PlainCurve(Curve.ELLIPSE)
    return None


def _off_line(points: Floats) -> float:
    """Return how far the points lie from the line through the first and the last; inf where those are one."""
    along = points[-1] - points[0]
    length = float(np.linalg.norm(along))
    if length <= ANALYTIC_FIT_MM:
        return math.inf
    return float(np.linalg.norm(cross_product(points - points[0], along / length), axis=1).max())


def _circle(flat: Floats) -> tuple[Floats, float]:
    """Return centre and radius of the circle nearest to (N, 2) points about the origin, by a linear fit."""
    table = np.c_[2 * flat, np.ones(len(flat))]
    solution, *_ = np.linalg.lstsq(table, (flat**2).sum(axis=1), rcond=None)
    centre = solution[:2]
    return centre, math.sqrt(max(float(solution[2] + centre @ centre), 0.0))


def _arc(offset: Floats, centre: Floats, rows: Floats, radius: float) -> PlainCurve | None:
    """Return the circle with the sense in which (N, 2) offsets from its centre run; None = they run to and fro."""
    angle = np.unwrap(np.arctan2(offset[:, 1], offset[:, 0]))
    turn = float(angle[-1] - angle[0])
    steps = np.diff(angle) * math.copysign(1.0, turn)
    if steps.min() < 0:
        return None
    axis = cross_product(rows[0], rows[1]) * math.copysign(1.0, turn)
    return PlainCurve(Curve.CIRCLE, vec(centre), vec(axis), radius)


def _off_ellipse(flat: Floats) -> float:
    """Return how far (N, 2) points lie from the ellipse nearest to them (to first order); inf where that is none."""
    x, y = flat.T
    table = np.c_[x * x, x * y, y * y, x, y]
    (a, b, c, d, e), *_ = np.linalg.lstsq(table, np.ones(len(x)), rcond=None)
    if b * b - 4 * a * c >= 0:
        return math.inf
    slope = np.hypot(2 * a * x + b * y + d, b * x + 2 * c * y + e)
    return float((np.abs(table @ np.array([a, b, c, d, e]) - 1.0) / np.maximum(slope, 1e-12)).max())
