"""Shortest ways that end on the border of a face: the thin end of a taper, the ridge of a groove over a floor."""

import numpy as np

from analyzers.measures._meeting import Ways, accelerated
from analyzers.measures._surface import dot, feet
from analyzers.model.arrays import Bools, Floats, Ints, cross_product, unit
from analyzers.model.facegraph import concave_edges
from analyzers.model.part import Curve, Part
from analyzers.tolerance import STILL_MM


def edge_feet(part: Part, edge: Ints, point_mm: Floats) -> Floats:
    """Return (N, 3) the nearest point of each row's edge, within its ends; curves that are no arcs count as lines."""
    length = part.edge_length_mm[edge]
    share = dot(point_mm - part.edge_mid_mm[edge], part.edge_tangent[edge]) / np.maximum(length, STILL_MM)
    arc = np.flatnonzero(part.edge_curve[edge] == Curve.CIRCLE)
    if len(arc):
        u, v = _arc_frame(part, edge[arc])
        offset = point_mm[arc] - part.edge_centre_mm[edge[arc]]
        turn = np.arctan2(dot(offset, v), dot(offset, u))
        share[arc] = turn * part.edge_radius_mm[edge[arc]] / length[arc]
    return edge_points(part, edge, np.clip(share, -0.5, 0.5))


def edge_points(part: Part, edge: Ints, share: Floats) -> Floats:
    """Return (N, 3) points on edges, `share` of their length from their middle: -0.5 and 0.5 are the ends."""
    along = share * part.edge_length_mm[edge]
    point: Floats = part.edge_mid_mm[edge] + along[:, None] * part.edge_tangent[edge]
    arc = np.flatnonzero(part.edge_curve[edge] == Curve.CIRCLE)
    if len(arc):
        u, v = _arc_frame(part, edge[arc])
        radius = part.edge_radius_mm[edge[arc]]
        turn = (along[arc] / radius)[:, None]
        point[arc] = part.edge_centre_mm[edge[arc]] + radius[:, None] * (np.cos(turn) * u + np.sin(turn) * v)
    return point


def _arc_frame(part: Part, edge: Ints) -> tuple[Floats, Floats]:
    """Return (N, 3) unit vectors from the centre to the middle of each arc, and across in its plane."""
    u = unit(part.edge_mid_mm[edge] - part.edge_centre_mm[edge])
    v: Floats = cross_product(part.edge_axis[edge], u)
    return u, v


def border_edges(part: Part, face: Ints, taper: Bools) -> tuple[Ints, Ints]:
    """Return for N faces their lines and arcs: the row in `face` of each, and the edge.

    Ridges (edges where material fills more than a half turn) always count; other edges only for rows of `taper`.
    """
    ridge = concave_edges(part)
    plain = (part.edge_curve == Curve.LINE) | (part.edge_curve == Curve.CIRCLE)
    around: dict[int, dict[int, None]] = {}
    for owner, edge in zip(part.coedge_face.tolist(), part.coedge_edge.tolist(), strict=True):
        if plain[edge]:
            around.setdefault(owner, {})[edge] = None
    rows = [
        (row, edge)
        for row, (owner, level) in enumerate(zip(face.tolist(), taper.tolist(), strict=True))
        for edge in around.get(owner, ())
        if level or ridge[edge]
    ]
    row, edge = np.array(rows, dtype=np.int64).reshape(-1, 2).T
    return row, edge


def ways_to_face(part: Part, edge: Ints, first: Ints, second: Ints, start_mm: Floats) -> Ways:
    """Return N shortest ways from edges of the first faces to the second ones, however far those really go."""

    def step(rows: Ints, point: Floats) -> tuple[Floats, Floats]:
        across = feet(part, second[rows], point)
        return edge_feet(part, edge[rows], across), np.asarray(np.linalg.norm(across - point, axis=1), dtype=float)

    start = edge_feet(part, edge, start_mm)
    point = accelerated(step, lambda rows, point: edge_feet(part, edge[rows], point), start)
    return Ways(first, second, point, feet(part, second, point))


def ways_to_edges(part: Part, edge: Ints, ways: Ways, taper: Bools) -> tuple[Ints, Ways]:
    """Return for N ways from edges, whose feet may miss the second face, the ways to that face's nearest edge instead.

    Also which row each belongs to: a second face without a fitting edge has none.
    """
    row, other = border_edges(part, ways.second, taper)
    off = np.linalg.norm(edge_feet(part, other, ways.second_mm[row]) - ways.second_mm[row], axis=1)
    order = np.lexsort((off, row))
    nearest = order[np.append(True, np.diff(row[order]) != 0)] if len(row) else order
    row, other = row[nearest], other[nearest]
    here = edge[row]

    def step(rows: Ints, point: Floats) -> tuple[Floats, Floats]:
        across = edge_feet(part, other[rows], point)
        return edge_feet(part, here[rows], across), np.asarray(np.linalg.norm(across - point, axis=1), dtype=float)

    point = accelerated(step, lambda rows, point: edge_feet(part, here[rows], point), ways.first_mm[row])
    return row, Ways(ways.first[row], ways.second[row], point, edge_feet(part, other, point))
