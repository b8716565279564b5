"""Shortest ways that end on the border of a face: the thin end of a taper, the ridge of a groove over a floor."""

import numpy as np

from analyzers.measures._meeting import Onto, Step, Ways, accelerated, there_and_back
from analyzers.measures._surface import Surfaces, dot, feet
from analyzers.model.arrays import Bools, Floats, Ints, cross_product, spread, unit
from analyzers.model.facegraph import concave_edges
from analyzers.model.part import Curve, Part
from analyzers.tolerance import STILL_MM


def edge_feet(part: Part, edge: Ints, point_mm: Floats) -> Floats:
    """Return (N, 3) the nearest point of each row's edge, within its ends; curves that are no arcs count as lines."""
    return _Edges(part, edge).feet(point_mm)


def edge_points(part: Part, edge: Ints, share: Floats) -> Floats:
    """Return (N, 3) points on edges, `share` of their length from their middle: -0.5 and 0.5 are the ends."""
    return _Edges(part, edge).points(share)


class _Edges:
    """N edges in a row, made ready to be asked about one point each, again and again."""

    def __init__(self, part: Part, edge: Ints) -> None:
        self._length, self._mid = part.edge_length_mm[edge], part.edge_mid_mm[edge]
        self._tangent = part.edge_tangent[edge]
        self._arc = (part.edge_curve[edge] == Curve.CIRCLE).nonzero()[0]
        arc = edge[self._arc]
        self._centre, self._radius = part.edge_centre_mm[arc], part.edge_radius_mm[arc]
        self._u = unit(part.edge_mid_mm[arc] - self._centre)  # from the centre to the middle of the arc
        self._v = cross_product(part.edge_axis[arc], self._u)  # across in its plane

    def feet(self, point: Floats) -> Floats:
        """Return (N, 3) what `edge_feet` does, for (N, 3) points."""
        share = dot(point - self._mid, self._tangent) / np.maximum(self._length, STILL_MM)
        if len(self._arc):
            offset = point[self._arc] - self._centre
            turn = np.arctan2(dot(offset, self._v), dot(offset, self._u))
            share[self._arc] = turn * self._radius / self._length[self._arc]
        return self.points(np.minimum(np.maximum(share, -0.5), 0.5))

    def points(self, share: Floats) -> Floats:
        """Return (N, 3) what `edge_points` does, for (N,) shares."""
        along = share * self._length
        point: Floats = self._mid + along[:, None] * self._tangent
        if len(self._arc):
            turn = (along[self._arc] / self._radius)[:, None]
            around = np.cos(turn) * self._u + np.sin(turn) * self._v
            point[self._arc] = self._centre + self._radius[:, None] * around
        return point


def border_edges(part: Part, face: Ints, taper: Bools) -> tuple[Ints, Ints]:
    """Return for N faces their lines and arcs: the row in `face` of each, and the edge.

    Ridges (edges where material fills more than a half turn) always count; other edges only for rows of `taper`.
    """
    ridge = concave_edges(part)
    plain = (part.edge_curve == Curve.LINE) | (part.edge_curve == Curve.CIRCLE)
    use = np.flatnonzero(plain[part.coedge_edge])
    _, once = np.unique(part.coedge_face[use] * part.n_edges + part.coedge_edge[use], return_index=True)
    use = use[np.sort(once)]  # a seam bounds its face once
    use = use[np.argsort(part.coedge_face[use], kind="stable")]
    owner = part.coedge_face[use]
    row, place = spread(owner.searchsorted(face), owner.searchsorted(face, side="right") - 1)
    edge = part.coedge_edge[use[place]]
    counts = taper[row] | ridge[edge]
    return row[counts], edge[counts]


def ways_to_face(part: Part, edge: Ints, first: Ints, second: Ints, start_mm: Floats) -> Ways:
    """Return N shortest ways from edges of the first faces to the second ones, however far those really go."""

    def carriers(rows: Ints) -> tuple[Step, Onto]:
        edges = _Edges(part, edge[rows])
        return there_and_back(edges.feet, Surfaces(part, second[rows]).feet), edges.feet

    point = accelerated(carriers, edge_feet(part, edge, start_mm))
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

    def carriers(rows: Ints) -> tuple[Step, Onto]:
        edges = _Edges(part, here[rows])
        return there_and_back(edges.feet, _Edges(part, other[rows]).feet), edges.feet

    point = accelerated(carriers, ways.first_mm[row])
    return row, Ways(ways.first[row], ways.second[row], point, edge_feet(part, other, point))
