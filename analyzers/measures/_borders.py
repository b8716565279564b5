"""Shortest ways that end on the border of a face: the thin end of a taper, the ridge of a groove over a floor."""

import numpy as np

from analyzers.measures._meeting import Ways, accelerated
from analyzers.measures._surface import dot, feet
from analyzers.model.arrays import Bools, Floats, Ints, unit
from analyzers.model.facegraph import concave_edges
from analyzers.model.part import Curve, Part


def edge_feet(part: Part, edge: Ints, point_mm: Floats) -> Floats:
    """Return (N, 3) the nearest point of each row's edge, within its ends; curves that are no arcs count as lines."""
    mid, tangent = part.edge_mid_mm[edge], part.edge_tangent[edge]
    half = 0.5 * part.edge_length_mm[edge]
    reach = np.clip(dot(point_mm - mid, tangent), -half, half)
    foot: Floats = mid + reach[:, None] * tangent
    arc = np.flatnonzero(part.edge_curve[edge] == Curve.CIRCLE)
    centre, radius = part.edge_centre_mm[edge[arc]], part.edge_radius_mm[edge[arc]]
    u = unit(mid[arc] - centre)
    v = np.cross(part.edge_axis[edge[arc]], u)
    offset = point_mm[arc] - centre
    turn = np.clip(np.arctan2(dot(offset, v), dot(offset, u)), -half[arc] / radius, half[arc] / radius)
    foot[arc] = centre + radius[:, None] * (np.cos(turn)[:, None] * u + np.sin(turn)[:, None] * v)
    return foot


def border_ways(part: Part, first: Ints, second: Ints, start_mm: Floats, taper: Bools) -> tuple[Ints, Ways]:
    """Return for N pairs of analytic faces the ways from each line or arc around `first` to `second`, and their pairs.

    Ridges (edges where material fills more than a half turn) always count; other edges only for the pairs in `taper`,
    whose faces are nearly parallel.
    """
    ridge = concave_edges(part)
    plain = (part.edge_curve == Curve.LINE) | (part.edge_curve == Curve.CIRCLE)
    around: dict[int, list[int]] = {}
    for face, edge in zip(part.coedge_face.tolist(), part.coedge_edge.tolist(), strict=True):
        if plain[edge]:
            around.setdefault(face, []).append(edge)
    rows = [
        (pair, edge)
        for pair, (face, level) in enumerate(zip(first.tolist(), taper.tolist(), strict=True))
        for edge in dict.fromkeys(around.get(face, ()))
        if level or ridge[edge]
    ]
    pair, edge = np.array(rows, dtype=np.int64).reshape(-1, 2).T
    other = second[pair]

    def step(rows: Ints, point: Floats) -> tuple[Floats, Floats]:
        across = feet(part, other[rows], point)
        return edge_feet(part, edge[rows], across), np.asarray(np.linalg.norm(across - point, axis=1), dtype=float)

    start = edge_feet(part, edge, start_mm[pair])
    point = accelerated(step, lambda rows, point: edge_feet(part, edge[rows], point), start)
    return pair, Ways(first[pair], other, point, feet(part, other, point))
