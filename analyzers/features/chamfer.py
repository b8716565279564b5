"""Chamfers: sharp edges broken by a small sloped face (ISO 10303-224 `chamfer`)."""

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import ClassVar

import numpy as np

from analyzers.features._threads import threaded
from analyzers.features._view import INNER_JOINS, View
from analyzers.model.arrays import Floats, cross_product, vec
from analyzers.model.facegraph import groups, members
from analyzers.model.feature import FaceClass, Feature, mm_text
from analyzers.model.part import Curve, Part, Surface
from analyzers.tolerance import PARALLEL_COS, SAME_ANGLE_DEG, SAME_PLACE_MM, SLIVER_MM, SQUARE_SIN

RANK = 28

# a strip that takes more than this share of the larger face it joins is a sloped side, not a broken edge
_LARGEST_SHARE = 0.42
# ... and neither is what leaves less than a fifth of the smaller face, unless a like strip took the rest from the other
# side, nor what takes three quarters of the part's own height along the strip. Chamfers of the open sets that are drawn
# on parts with many features stay below 0.8 and 0.41 of these.
_LARGEST_SMALL_SHARE = 0.8
_LARGEST_PART_SHARE = 0.75
_EQUAL_LEGS = 0.01  # relative difference up to which the legs of an inner strip are equal
_WALL_GOES_ON = 2.0  # a wall at a strip's end is at least this many times as large as the strip's section
_LEAST_TURN_DEG = 5.0  # below this the strip only bends its neighbour


@dataclass(frozen=True, slots=True)
class _Bevel:
    """One sloped strip: the leg along the larger face it breaks, and the angle counted from that face."""

    width_mm: float
    angle_deg: float
    edge: int  # one of the two it runs between
    share: float  # of the larger face it joins, before it was cut
    strip_mm: float = math.nan  # flat strips: from edge to edge
    section_mm2: float = math.nan  # flat strips: the triangle it cuts off or fills
    beside: tuple[int, int] | None = None  # the two faces that an inner strip joins; None = on an outside edge

    def like(self, other: "_Bevel") -> bool:
        """Return whether two strips have one size."""
        near = abs(self.width_mm - other.width_mm) <= SAME_PLACE_MM
        return near and abs(self.angle_deg - other.angle_deg) <= SAME_ANGLE_DEG


@dataclass(frozen=True, slots=True, kw_only=True)
class Chamfer(Feature):
    """`width_mm` is the leg: measured along the larger face it breaks; `angle_deg` is counted from that face."""

    kind: ClassVar[str] = "chamfer"
    face_class: ClassVar[FaceClass] = "chamfer"

    width_mm: float
    angle_deg: float

    def callout(self) -> str:
        """Return for example "1 × 45°"."""
        return f"{mm_text(self.width_mm)} × {self.angle_deg:.4g}°"


def propose(view: View) -> Iterator[Chamfer]:
    """Yield sloped faces between two larger ones that would otherwise meet in a sharp edge, outside or inside.

    A sloped face that is wide for what it joins is not a broken edge but a sloped side or step of the part. An inner
    strip must have equal legs and stand alone: the walls of a polygonal pocket are none.
    """
    flats = {face: bevel for face in _candidates(view, Surface.PLANE) if (bevel := _flat_bevel(view, face))}
    flats = {face: bevel for face, bevel in flats.items() if not _in_a_row(bevel, flats)}
    inner = [bevel.beside for bevel in flats.values() if bevel.beside is not None]
    view.remember(INNER_JOINS, lambda: inner)
    cones = {face: bevel for face in _candidates(view, Surface.CONE) if (bevel := _cone_bevel(view, face))}
    rounding = _inner_corners(view, flats)
    inner += [bevel.beside for bevel in rounding.values() if bevel.beside is not None]
    cones |= rounding
    bevels = flats | cones
    for faces in _rows_of_one_size(view, bevels):
        bevel = bevels[faces[0]]
        direction = view.easiest_way(faces)
        yield Chamfer(
            faces=faces,
            direction=vec(direction),
            position_mm=vec(view.part.face_centroid_mm[faces[0]]),
            width_mm=bevel.width_mm,
            angle_deg=bevel.angle_deg,
            why=f"a sloped strip where two larger faces would meet sharply; its {mm_text(bevel.width_mm)} mm are "
            f"{100 * bevel.share:.0f} % of the larger one: a broken edge, no sloped side or step",
        )


def _candidates(view: View, kind: Surface) -> list[int]:
    part = view.part
    return [int(f) for f in np.flatnonzero((part.face_surface == kind) & view.free & ~threaded(view))]


def _flat_bevel(view: View, face: int) -> _Bevel | None:
    """Return legs and angle of a flat strip between two parallel outside edges; None where it is no broken edge."""
    part = view.part
    if _follows_frame(view, face):
        return None
    straight = [e for e in view.around[face] if part.edge_curve[e] == Curve.LINE]
    outside = _narrowest(view, face, [e for e in straight if not view.concave[e]])
    if outside is not None and _flank_elsewhere(view, face, outside):
        return None
    if not any(view.concave[e] for e in view.around[face]):
        return outside
    if outside is not None and _ends_at_walls(view, face, outside):
        return outside
    return _narrowest(view, face, [e for e in straight if view.concave[e]])


def _narrowest(view: View, face: int, edges: list[int]) -> _Bevel | None:
    """Return the narrowest strip between two of some edges of a face."""
    edges.sort(key=lambda e: (-float(view.part.edge_length_mm[e]), e))
    best: _Bevel | None = None
    for i, first in enumerate(edges):
        for second in edges[i + 1 :]:
            bevel = _between(view, face, first, second)
            if bevel is not None and (best is None or bevel.width_mm < best.width_mm):
                best = bevel
    return best


def _ends_at_walls(view: View, face: int, bevel: _Bevel) -> bool:
    """Return whether a strip stops at walls that go on past it, as one side of a pocket's mouth does.

    A wall no larger than the strip's own section was made with it: the strip is then the slope of a step or notch. So
    it is where the wall stands on another piece of the strip's surface.
    """
    part = view.part
    ends = [e for e in view.around[face] if view.concave[e]]
    ridge = part.edge_tangent[bevel.edge]
    if (np.abs(part.edge_tangent[ends] @ ridge) > PARALLEL_COS).any():
        return False
    if _room(view, face, ridge, bevel.edge) > bevel.strip_mm + SAME_PLACE_MM:
        return False
    walls = {view.across(e, face) for e in ends}
    if any(part.face_area_mm2[wall] < _WALL_GOES_ON * bevel.section_mm2 for wall in walls):
        return False
    beside = {view.across(e, wall) for wall in walls for e in view.around[wall] if view.concave[e]}
    return all(other == face or view.surface[other] != view.surface[face] for other in beside)


def _flank_elsewhere(view: View, face: int, bevel: _Bevel) -> bool:
    """Return whether another piece of the strip's surface ends in an inside corner along it: the flank of a groove."""
    part = view.part
    others = np.flatnonzero(view.surface == view.surface[face]).tolist()
    edges = [e for other in others if other != face for e in view.around[other] if view.concave[e]]
    along = np.abs(part.edge_tangent[edges] @ part.edge_tangent[bevel.edge])
    return bool((along > PARALLEL_COS).any())


def _in_a_row(bevel: _Bevel, others: dict[int, _Bevel]) -> bool:
    """Return whether an inner strip meets another one: then both are walls of a many-sided pocket."""
    return bevel.beside is not None and any(f in others and others[f].beside is not None for f in bevel.beside)


def _follows_frame(view: View, face: int) -> bool:
    """Return whether a face looks along one of the part's main directions: then it is what others were cut from."""
    looks = np.abs(view.frame @ view.part.face_axis[face])
    return bool(looks.max() > PARALLEL_COS)


def _between(view: View, face: int, first: int, second: int) -> _Bevel | None:
    part = view.part
    one, two = view.across(first, face), view.across(second, face)
    inner = bool(view.concave[first] and view.concave[second])
    if one == two or not (inner or (view.convex[first] and view.convex[second])):
        return None
    ridge = part.edge_tangent[first]
    if abs(float(ridge @ part.edge_tangent[second])) < PARALLEL_COS:
        return None
    gap = part.edge_mid_mm[second] - part.edge_mid_mm[first]
    strip = float(np.linalg.norm(gap - (gap @ ridge) * ridge))
    if strip <= SLIVER_MM:
        return None
    turn_one, turn_two = (abs(180.0 - float(part.edge_angle_deg[e])) for e in (first, second))
    corner = turn_one + turn_two  # how far the two faces would turn at the sharp edge
    if min(turn_one, turn_two) <= _LEAST_TURN_DEG or max(turn_one, turn_two) >= 90.0 - _LEAST_TURN_DEG:
        return None
    if corner > 180.0 - _LEAST_TURN_DEG:
        return None
    leg_one, leg_two = (
        strip * math.sin(math.radians(t)) / math.sin(math.radians(corner)) for t in (turn_two, turn_one)
    )
    room_one, room_two = _room(view, one, ridge, first), _room(view, two, ridge, second)
    room, leg, turn = max((room_one, leg_one, turn_one), (room_two, leg_two, turn_two))
    share = leg / (room + leg)
    if max(leg_one, leg_two) > _LARGEST_SHARE * (room + leg):
        return None
    if inner and abs(leg_one - leg_two) > _EQUAL_LEGS * leg:
        return None
    if not inner and _is_side(view, face, ridge, {one: (leg_one, room_one), two: (leg_two, room_two)}):
        return None
    section_mm2 = 0.5 * strip * leg * math.sin(math.radians(turn))
    return _Bevel(leg, turn, first, share, strip, section_mm2, (one, two) if inner else None)


def _is_side(view: View, face: int, ridge: Floats, legs: dict[int, tuple[float, float]]) -> bool:
    """Return whether an outside strip takes so much of a face it joins, or of the part, that it is a side of its own.

    `legs`: for each face it joins the leg along it and how far the rest of that face reaches.
    """
    part = view.part
    for beside, (leg, room) in legs.items():
        if part.face_surface[beside] != Surface.PLANE:
            continue
        across = cross_product(ridge, part.face_axis[beside])
        size = float(np.ptp(view.hull_mm @ across)) / max(float(np.linalg.norm(across)), SAME_PLACE_MM)
        if leg > _LARGEST_PART_SHARE * size:
            return True
        if leg >= _LARGEST_SMALL_SHARE * (room + leg) - SAME_PLACE_MM and not _bevelled_beyond(view, beside, face):
            return True
    return False


def _bevelled_beyond(view: View, beside: int, face: int) -> bool:
    """Return whether another sloped strip, or a round, takes away from a face as well."""
    part = view.part
    others = {view.across(edge, beside) for edge in view.around[beside] if not view.concave[edge]} - {face, -1}
    return any(
        view.blends.is_blend[f]
        or (part.face_surface[f] == Surface.PLANE and not _follows_frame(view, f) and not _square(part, f, beside))
        for f in others
    )


def _square(part: Part, first: int, second: int) -> bool:
    return abs(float(part.face_axis[first] @ part.face_axis[second])) < SQUARE_SIN


def _room(view: View, face: int, ridge: Floats, edge: int) -> float:
    """Return how far a neighbour reaches away from the edge, across it, in millimetres."""
    offset = view.points_of((face,)) - view.part.edge_mid_mm[edge]
    return float(np.linalg.norm(offset - (offset @ ridge)[:, None] * ridge, axis=1).max())


def _cone_bevel(view: View, face: int) -> _Bevel | None:
    """Return legs and angle of a conical strip between a flat end and a cylinder on one axis; None elsewhere."""
    part = view.part
    if any(view.concave[e] for e in view.around[face]):
        return None
    rims = [e for e in view.around[face] if part.edge_curve[e] == Curve.CIRCLE and view.convex[e]]
    radii = [float(part.edge_radius_mm[e]) for e in rims]
    if len(rims) < 2 or max(radii) - min(radii) <= SLIVER_MM:
        return None
    beside = {view.across(e, face) for e in rims}
    kinds = {Surface(int(part.face_surface[f])) for f in beside}
    if not kinds & {Surface.CYLINDER, Surface.CONE} or not kinds & {Surface.PLANE, Surface.CYLINDER}:
        return None
    radial = max(radii) - min(radii)
    half = float(part.face_half_angle_deg[face])
    axial = radial / math.tan(math.radians(half))
    if max(radial, axial) > _LARGEST_SHARE * max(radii):
        return None
    return _Bevel(axial, half, rims[0], max(radial, axial) / max(radii))


def _inner_corners(view: View, flats: dict[int, _Bevel]) -> dict[int, _Bevel]:
    """Return the cones by which flat inner strips run smoothly round a corner, between a flat and a hollow cylinder."""
    part, found = view.part, {}
    for face in _candidates(view, Surface.CONE):
        strips = [view.across(e, face) for e in view.around[face] if view.smooth[e]]
        bevel = next((flats[f] for f in strips if f in flats and flats[f].beside is not None), None)
        rims = [e for e in view.around[face] if part.edge_curve[e] == Curve.CIRCLE and view.concave[e]]
        if bevel is None or len(rims) != 2:
            continue
        one, two = (view.across(e, face) for e in rims)
        if abs(abs(float(np.diff(part.edge_radius_mm[rims])[0])) - bevel.width_mm) <= SAME_PLACE_MM:
            found[face] = replace(bevel, edge=rims[0], beside=(one, two))
    return found


def _rows_of_one_size(view: View, bevels: dict[int, _Bevel]) -> list[tuple[int, ...]]:
    """Return the strips grouped: of one width and angle and touching, or pieces of one surface, are one chamfer."""
    part = view.part
    pairs = []
    for left, right in part.edge_faces.tolist():
        if left in bevels and right in bevels and left != right and bevels[left].like(bevels[right]):
            pairs.append((left, right))
    first_of: dict[int, int] = {}
    pairs += [(first_of.setdefault(int(view.surface[face]), face), face) for face in bevels]
    label = groups(part.n_faces, np.array(pairs, dtype=np.int64))
    return members(label, bevels)
