"""Inside corners without a radius: which of them no rotating cutter makes, and which only from another side."""

from dataclasses import dataclass

import numpy as np

from analyzers.measures._sights import exact_normals, start_off
from analyzers.measures._surface import dot
from analyzers.model.arrays import Bools, Floats, Ints, unit
from analyzers.model.facegraph import concave_edges
from analyzers.model.geometry import Geometry
from analyzers.model.part import Curve
from analyzers.model.report import Facts
from analyzers.tolerance import CORNER_TURN_DEG, SMOOTH_DEG, WALL_LEAN_DEG


@dataclass(frozen=True, slots=True)
class Corners:
    """The edges that a cutter coming along its feature's direction would leave rounded."""

    edges: Ints  # (N,) longest first
    from_aside: Bools  # (N,) open along the normal of one of its faces: from there it is a side-and-bottom edge


def sharp_corners(facts: Facts, geometry: Geometry) -> Corners:
    """Return the concave edges between two walls of their features that have no radius.

    Wall: within WALL_LEAN_DEG of the direction from which the feature is cut. An edge between a wall and a floor is
    cut by the side and bottom of an end mill and does not count. An edge of no feature counts where the way to it
    along the normals of both its faces is barred. Faces of holes do not count, and circles neither: those corners are
    turned, bored or cut by a disc.
    """
    part = facts.part
    with np.errstate(invalid="ignore"):
        turned = part.edge_angle_deg >= 180.0 + CORNER_TURN_DEG
    hole = (np.array(facts.face_class, dtype=object) == "hole")[part.edge_faces].any(axis=1)
    edges = np.flatnonzero(concave_edges(part) & turned & ~hole & (part.edge_curve != Curve.CIRCLE))
    if not len(edges):
        return Corners(edges, np.zeros(0, dtype=bool))
    mid = part.edge_mid_mm[edges]
    sides = [exact_normals(part, geometry, part.edge_faces[edges, k], mid) for k in (0, 1)]
    open_side = part.edge_angle_deg[edges] <= 270.0 + SMOOTH_DEG
    clear = [open_side & _clear(facts, geometry, mid, sides[0] + sides[1], side) for side in sides]
    aside = clear[0] | clear[1]
    counted = _between_walls(facts, edges, sides, aside, open_side)
    kept = np.flatnonzero(counted)
    kept = kept[np.lexsort((edges[kept], -part.edge_length_mm[edges[kept]]))]
    return Corners(edges[kept], aside[kept])


def _clear(facts: Facts, geometry: Geometry, mid_mm: Floats, into_air: Floats, ahead: Floats) -> Bools:
    """Return (N,) True where nothing bars the way out along `ahead` from just beside the edge."""
    part = facts.part
    start = mid_mm + 10.0 * (start_off(part) + part.mesh.chord_mm) * unit(into_air)
    distance, _ = geometry.first_hits(start, ahead)
    clear: Bools = ~np.isfinite(distance)
    return clear


def _between_walls(facts: Facts, edges: Ints, sides: list[Floats], aside: Bools, open_side: Bools) -> Bools:
    """Return (N,) True where both faces are walls from each direction their features are cut from."""
    direction = {face: feature.direction for feature in facts.features for face in feature.faces}
    owners = facts.part.edge_faces[edges].tolist()
    limit = np.sin(np.radians(WALL_LEAN_DEG))
    counted = ~aside & open_side
    for row, faces in enumerate(owners):
        ways = np.array([direction[face] for face in faces if face in direction])
        if len(ways):
            lean = np.abs(np.concatenate([dot(ways, np.broadcast_to(side[row], ways.shape)) for side in sides]))
            counted[row] = bool((lean <= limit).all())
    return counted
