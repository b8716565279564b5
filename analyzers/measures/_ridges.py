"""Sight lines from inside corners into the material: two pockets whose corners nearly meet see no other way."""

import numpy as np

from analyzers.measures._borders import edge_points
from analyzers.measures._sights import Sights, start_off
from analyzers.measures._surface import analytic, feet, outward
from analyzers.model.arrays import Floats, Ints, unit
from analyzers.model.facegraph import concave_edges
from analyzers.model.geometry import Geometry
from analyzers.model.part import Curve, Part
from analyzers.tolerance import RIDGE_DIRECTIONS, RIDGE_POINTS_LINE, RIDGE_POINTS_ROUND, RIDGE_SIGHTS_MOST


def ridge_sights(part: Part, geometry: Geometry) -> Sights:
    """Return what the ridges see between the inward normals of their two faces, once for each of the two faces.

    Ridges: lines and arcs between analytic faces where material fills more than a half turn. The tilt is nan: such a
    sight says where to search for a shortest way, and is none itself.
    """
    edge, point = _ridge_points(part)
    sides = part.edge_faces[edge]
    inward = [-outward(part, sides[:, k], point) for k in (0, 1)]
    share = (np.arange(RIDGE_DIRECTIONS) + 0.5) / RIDGE_DIRECTIONS
    fan = [unit((1.0 - s) * inward[0] + s * inward[1]) for s in share.tolist()]
    ahead = np.concatenate([*fan, np.zeros((0, 3))])
    row = np.tile(np.arange(len(edge)), len(fan))
    lift = start_off(part) + part.mesh.chord_mm
    distance, seen = geometry.first_hits(point[row] + lift * ahead, ahead)

    real = (seen >= 0) & (sides[row] != seen[:, None]).all(axis=1) & analytic(part, np.maximum(seen, 0))
    kept = np.flatnonzero(real)
    row, seen = row[kept], seen[kept]
    end = feet(part, seen, point[row] + (lift + distance[kept, None]) * ahead[kept])
    return _between(sides[row].T.ravel(), np.tile(seen, 2), np.tile(point[row], (2, 1)), np.tile(end, (2, 1)))


def _ridge_points(part: Part) -> tuple[Ints, Floats]:
    """Return (N,) ridges and (N, 3) points along them: a few on a line, more around an arc."""
    plain = np.isin(part.edge_curve, [Curve.LINE, Curve.CIRCLE])
    known = analytic(part, np.maximum(part.edge_faces, 0).ravel()).reshape(-1, 2).all(axis=1)
    ridge = np.flatnonzero(concave_edges(part) & plain & known)
    count = np.where(part.edge_curve[ridge] == Curve.LINE, RIDGE_POINTS_LINE, RIDGE_POINTS_ROUND)
    edge = np.repeat(ridge, count)
    place = np.arange(len(edge)) - np.repeat(np.cumsum(count) - count, count)
    share = (place + 0.5) / np.repeat(count, count) - 0.5
    stride = max(len(edge) * RIDGE_DIRECTIONS // RIDGE_SIGHTS_MOST, 1)
    edge, share = edge[::stride], share[::stride]
    return edge, edge_points(part, edge, share)


def _between(face: Ints, seen: Ints, start: Floats, end: Floats) -> Sights:
    """Return the sights of faces at their starts, the lower face first."""
    turned = face > seen
    return Sights(
        first=np.where(turned, seen, face),
        second=np.where(turned, face, seen),
        first_mm=np.where(turned[:, None], end, start),
        second_mm=np.where(turned[:, None], start, end),
        distance_mm=np.linalg.norm(end - start, axis=1),
        tilt_deg=np.full(len(face), np.nan),
        sample=np.full(len(face), -1),
    )
