"""The sharpest hollow of a free face: sampled in every span of its knots, then closed in on."""

import math
from collections.abc import Callable
from typing import Final

import numpy as np
from OCP.BRepAdaptor import BRepAdaptor_Surface
from OCP.BRepLProp import BRepLProp_SLProps
from OCP.BRepTools import BRepTools
from OCP.collections import Array1_double
from OCP.GeomAbs import GeomAbs_Shape, GeomAbs_SurfaceType
from OCP.TopoDS import TopoDS_Face

from analyzers.model.arrays import Floats

A_SIDE: Final = 12
"""Samples a side where both directions bend, at least, and no less than LEAST_PER_SPAN in each span of the knots."""

ALONG_A_CURVE: Final = 64
"""Samples where the surface is swept or turned from one curve: only along that."""

LEAST_PER_SPAN: Final = 3
MOST_A_SIDE: Final = 32
"""A sample takes 5 us."""

STARTS: Final = 2
ROUNDS: Final = 5
"""The sharpest few samples are closed in on, in grids of five by five, each half as wide as the one before."""

FLAT_PER_MM: Final = 1e-4
"""A curvature below this, a radius above 10 m, is flat."""


def sharpest_hollow_mm(face: TopoDS_Face, adaptor: BRepAdaptor_Surface, outward: bool) -> float:
    """Return the smallest radius of curvature on the hollow side of a face; inf where it is nowhere hollow.

    Looked for over the whole rectangle of its parameters, so also a little beyond trimmed borders; at a knot, where
    curvature may jump, on either side of it. A bend that is narrower than the step between two samples may be missed.

    Parameters
    ----------
    outward : the surface's own normal points out of the material
    """
    u0, u1, v0, v1 = BRepTools.UVBounds_s(face)
    properties = BRepLProp_SLProps(adaptor, 2, 1e-9)

    def hollow(u: float, v: float) -> float:
        properties.SetParameters(u, v)
        if not properties.IsNormalDefined() or not properties.IsCurvatureDefined():
            return -math.inf
        return float(properties.MaxCurvature() if outward else -properties.MinCurvature())

    kind = adaptor.GetType()
    along_u = kind != GeomAbs_SurfaceType.GeomAbs_SurfaceOfRevolution  # u turns the curve: no bend changes
    along_v = kind != GeomAbs_SurfaceType.GeomAbs_SurfaceOfExtrusion  # v sweeps it
    wanted = A_SIDE if along_u and along_v else ALONG_A_CURVE
    us = _steps(u0, u1, _knots(adaptor.NbUIntervals, adaptor.UIntervals), wanted if along_u else 1)
    vs = _steps(v0, v1, _knots(adaptor.NbVIntervals, adaptor.VIntervals), wanted if along_v else 1)
    table = np.array([[hollow(u, v) for v in vs.tolist()] for u in us.tolist()])
    widest = (float(np.diff(us).max(initial=0.0)), float(np.diff(vs).max(initial=0.0)))
    sharpest = -math.inf
    for place in np.argsort(-table, axis=None, kind="stable")[:STARTS].tolist():
        row, column = divmod(place, len(vs))
        u, v, bend = float(us[row]), float(vs[column]), float(table[row, column])
        du, dv = widest
        for _ in range(ROUNDS):
            near = [
                (hollow(x, y), x, y)
                for x in np.unique(np.clip(u + du * _AROUND, u0, u1)).tolist()
                for y in np.unique(np.clip(v + dv * _AROUND, v0, v1)).tolist()
            ]
            bend, u, v = max([*near, (bend, u, v)], key=lambda each: each[0])
            du, dv = du / 2.0, dv / 2.0
        sharpest = max(sharpest, bend)
    return 1.0 / sharpest if sharpest > FLAT_PER_MM else math.inf


_AROUND = np.linspace(-1.0, 1.0, 5)


def _knots(count: Callable[[GeomAbs_Shape], int], fill: Callable[[Array1_double, GeomAbs_Shape], None]) -> Floats:
    """Return where a surface's curvature may jump, with its ends."""
    smooth = GeomAbs_Shape.GeomAbs_C2
    ends = Array1_double(1, count(smooth) + 1)
    fill(ends, smooth)
    return np.array([ends.Value(i) for i in range(1, ends.Length() + 1)])


def _steps(low: float, high: float, knots: Floats, wanted: int) -> Floats:
    """Return places from one end to the other, as many in each span, and one to either side of each knot."""
    if wanted == 1:
        return np.array([(low + high) / 2.0])
    inner = knots[(knots > low) & (knots < high)]
    ends = np.concatenate([[low], inner, [high]])
    spans = len(ends) - 1
    each = max(-(-wanted // spans), LEAST_PER_SPAN)
    if spans * each > max(MOST_A_SIDE, wanted):
        return np.linspace(low, high, max(MOST_A_SIDE, wanted))
    within = (ends[:-1, None] + (np.arange(each) + 0.5) / each * np.diff(ends)[:, None]).ravel()
    nudge = 1e-6 * (high - low)
    steps: Floats = np.unique(np.concatenate([within, inner - nudge, inner + nudge, [low, high]]))
    return steps
