"""Ring-shaped channels: faces about one axis that dip below both the edges between which they lie.

Faces about an axis that meet in inside corners, or run into one another, follow one line of the turned profile. Where
that line ends in an outside corner on both sides and dips between, it is a channel: whatever its section, in however
many pieces its faces are, and though a flat or a slot interrupts it.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

import numpy as np

from analyzers.features._surfaces import axis_numbers
from analyzers.features._view import View
from analyzers.model.arrays import Floats, Ints
from analyzers.model.facegraph import groups
from analyzers.model.part import Surface
from analyzers.tolerance import PARALLEL_COS, SAME_PLACE_MM

Side = Literal["outer", "inner", "face"]

_HALF_TURN_DEG = 181.0  # what covers less of the turn is milled along an arc
_STEEP = 0.5  # the flanks of a channel lean less than 60 degrees from straight into it
_BEVEL_SHARE = 0.5  # of the depth: a cone at the mouth that is no longer than this breaks its edge
_ROUND = 0.02  # part of a tangent across the turn, from here on an edge does not follow it


@dataclass(frozen=True, slots=True)
class Channel:
    """One channel; lengths in millimetres. `middle_mm`: on the axis at mid width, or at the floor of one in a face."""

    faces: tuple[int, ...]
    side: Side
    out: Floats  # out of it, at one place of its floor
    middle_mm: Floats
    width_mm: float
    depth_mm: float
    diameter_mm: float


@dataclass(slots=True)
class _Rim:
    """An outside edge about the axis: where on it, how far from it, and where the surface beyond begins."""

    along: float
    radius: float
    turn_deg: float
    land_along: float
    land_radius: float


def find_channels(view: View) -> Iterator[Channel]:
    """Yield the channels of a part, in order of their lowest face."""
    line = axis_numbers(view.part)
    for first, faces in _linked(view, line):
        rims = _rims(view, first, faces)
        if len(rims) >= 2:
            channel = _channel(view, first, faces, rims)
            if channel is not None:
                yield channel


def _walkable(view: View, face: int) -> bool:
    """Return whether a profile line may pass a face: not over a rounded outside edge, nor over claimed faces."""
    return face >= 0 and bool(view.free[face]) and not (view.blends.is_blend[face] and not view.blends.concave[face])


def _linked(view: View, line: Ints) -> list[tuple[int, tuple[int, ...]]]:
    """Return groups of faces that follow one profile line, each with a round face that has the axis."""
    part = view.part
    number: dict[tuple[int, int], int] = {}

    def node(face: int, axis: int) -> int:
        return number.setdefault((face, axis), len(number))

    pairs: list[tuple[int, int]] = []
    lead: dict[int, int] = {}
    for face in np.flatnonzero(line >= 0).tolist():
        lead.setdefault(int(line[face]), face)
        if part.face_surface[face] == Surface.TORUS and part.face_concave[face] and _walkable(view, face):
            node(face, int(line[face]))  # a channel of round section may be this face alone
    rounds = [e for e in np.flatnonzero(view.concave | view.smooth).tolist() if (line[part.edge_faces[e]] >= 0).any()]
    for edge in rounds:
        left, right = part.edge_faces[edge].tolist()
        if not (_walkable(view, left) and _walkable(view, right)):
            continue
        axis = int(max(line[left], line[right]))
        if line[left] >= 0 and line[right] >= 0:
            if line[left] == line[right]:
                pairs.append((node(left, axis), node(right, axis)))
        else:
            flat, round_ = (left, right) if line[left] < 0 else (right, left)
            axis = int(line[round_])
            if part.face_surface[flat] == Surface.PLANE and _square(view, flat, lead[axis]):
                pairs.append((node(flat, axis), node(round_, axis)))
    pairs += _same_rings(view, number, lead)
    label = groups(len(number), np.array(pairs, dtype=np.int64))
    found: dict[int, list[tuple[int, int]]] = {}
    for (face, axis), row in number.items():
        found.setdefault(int(label[row]), []).append((face, axis))
    chains = [(lead[nodes[0][1]], tuple(sorted(face for face, _ in nodes))) for nodes in found.values()]
    return sorted(chains, key=lambda chain: chain[1])


def _square(view: View, plane: int, round_: int) -> bool:
    return abs(float(view.part.face_axis[plane] @ view.part.face_axis[round_])) > PARALLEL_COS


def _same_rings(view: View, number: dict[tuple[int, int], int], lead: dict[int, int]) -> list[tuple[int, int]]:
    """Return pairs of nodes on one surface whose rings overlap: a slot or flat cut them apart."""
    by_surface: dict[tuple[int, int], list[int]] = {}
    for face, axis in number:
        by_surface.setdefault((int(view.surface[face]), axis), []).append(face)
    pairs = []
    for (_, axis), faces in by_surface.items():
        if len(faces) < 2:
            continue
        spans = {}
        for face in faces:
            along, radius = _profile(view, lead[axis], (face,))
            spans[face] = radius if view.part.face_surface[face] == Surface.PLANE else along
        order = sorted(faces, key=lambda f: float(spans[f].min()))
        for before, after in pairwise(order):
            if float(spans[after].min()) < float(spans[before].max()) - SAME_PLACE_MM:
                pairs.append((number[before, axis], number[after, axis]))
    return pairs


def _profile(view: View, first: int, faces: tuple[int, ...]) -> tuple[Floats, Floats]:
    """Return (N,) places along the axis and (N,) distances from it of the points of some faces."""
    return _turned(view, first, view.points_of(faces))


def _turned(view: View, first: int, point: Floats) -> tuple[Floats, Floats]:
    origin, axis = view.part.face_origin_mm[first], view.part.face_axis[first]
    offset = point - origin
    along = offset @ axis
    return along, np.linalg.norm(offset - along[..., None] * axis, axis=-1)


def _circle(view: View, first: int, edge: int) -> tuple[float, float] | None:
    """Return where an edge lies along and off the axis; None where it does not run about it."""
    part = view.part
    axis, tangent = part.face_axis[first], part.edge_tangent[edge]
    if abs(float(tangent @ axis)) > _ROUND:
        return None
    ends = part.vertex_mm[part.edge_vertices[edge]]
    along, radius = _turned(view, first, np.concatenate([ends, part.edge_mid_mm[edge][None]]))
    if np.ptp(along) > SAME_PLACE_MM or np.ptp(radius) > SAME_PLACE_MM or radius[2] <= SAME_PLACE_MM:
        return None
    outward = part.edge_mid_mm[edge] - part.face_origin_mm[first]
    outward = (outward - (outward @ axis) * axis) / radius[2]
    if abs(float(tangent @ outward)) > _ROUND:
        return None
    return float(along[2]), float(radius[2])


def _rims(view: View, first: int, faces: tuple[int, ...]) -> list[_Rim]:
    """Return the outside edges about the axis at which a profile line ends, pieces of one circle together."""
    part = view.part
    own = set(faces)
    found: list[_Rim] = []
    for face in faces:
        for edge in view.around[face]:
            other = view.across(edge, face)
            over = view.smooth[edge] and view.blends.is_blend[other] and not view.blends.concave[other]
            if other in own or other < 0 or not (view.convex[edge] or over):
                continue
            at = _circle(view, first, edge)
            if at is None:
                continue
            rim = next(
                (r for r in found if max(abs(r.along - at[0]), abs(r.radius - at[1])) <= 10 * SAME_PLACE_MM), None
            )
            if rim is None:
                rim = _Rim(*at, 0.0, *_land(view, first, edge, other))
                found.append(rim)
            rim.turn_deg += math.degrees(float(part.edge_length_mm[edge]) / at[1])
    return [rim for rim in found if rim.turn_deg > _HALF_TURN_DEG]


def _land(view: View, first: int, edge: int, beyond: int) -> tuple[float, float]:
    """Return where the surface beside a mouth begins: past a rounded or bevelled edge, else at the edge itself."""
    part = view.part
    here = _circle(view, first, edge)
    assert here is not None
    round_ = view.blends.is_blend[beyond] and not view.blends.concave[beyond]
    if not round_ and part.face_surface[beyond] != Surface.CONE:
        return here
    rims = [at for e in view.around[beyond] if not view.concave[e] and (at := _circle(view, first, e)) is not None]
    return max(rims, key=lambda at: abs(at[0] - here[0]) + abs(at[1] - here[1]), default=here)


def _channel(view: View, first: int, faces: tuple[int, ...], rims: list[_Rim]) -> Channel | None:
    """Return the channel that a profile line forms between two of its rims; None where it does not dip."""
    whole = _profile(view, first, faces)
    turned = _profile(view, first, tuple(f for f in faces if view.part.face_surface[f] != Surface.PLANE))
    rim_along = np.array([rim.along for rim in rims])
    rim_radius = np.array([rim.radius for rim in rims])
    upright = float(np.ptp(rim_radius)) > float(np.ptp(rim_along))  # the mouth is wider than it is long
    sides: list[tuple[Side, int]] = [("face", 1), ("face", -1)]
    round_sides: list[tuple[Side, int]] = [("outer", 1), ("inner", -1)]
    for side, sense in (*sides, *round_sides) if upright else (*round_sides, *sides):
        # a flat flank may be a side of the part that reaches anywhere: of a channel about the axis the floor is round
        height, across = whole if side == "face" else turned[::-1]
        least = float((sense * height).min())
        floor = _deepest(view, first, faces, (side, sense), least)
        floor_height = sense * least if floor is None else floor
        bottom = sense * height <= sense * floor_height + SAME_PLACE_MM + view.part.mesh.chord_mm * (floor is not None)
        middle = 0.5 * float(across[bottom].min() + across[bottom].max())
        found = _between(rims, side, sense, middle, floor_height)
        if found is None or not _steep(view, first, faces, side):
            continue
        depth, low, high = found
        return _described(view, first, faces, (side, sense), (floor_height, depth), (low, high))
    return None


def _deepest(view: View, first: int, faces: tuple[int, ...], way: tuple[Side, int], least: float) -> float | None:
    """Return the deepest place of a floor that is round in section; None where the floor is straight.

    `least`: the deepest place of the triangulation, which may miss it by its chord.
    """
    part, (side, sense) = view.part, way
    best = None
    for face in faces:
        if part.face_surface[face] != Surface.TORUS:
            continue
        own_along, own_radius = _profile(view, first, (face,))
        centre_along = float(_turned(view, first, part.face_origin_mm[face])[0])
        centre_radius, tube = float(part.face_radius_mm[face]), float(part.face_tube_radius_mm[face])
        centre, across, own = (
            (centre_along, own_radius - centre_radius, own_along)
            if side == "face"
            else (centre_radius, own_along - centre_along, own_radius)
        )
        deepest = sense * centre - tube
        near = float((sense * own).min()) - deepest <= part.mesh.chord_mm + SAME_PLACE_MM
        if across.min() < -SAME_PLACE_MM and across.max() > SAME_PLACE_MM and near and deepest <= least:
            best = deepest if best is None else min(best, deepest)
    return None if best is None else sense * best


def _between(rims: list[_Rim], side: Side, sense: int, middle: float, floor: float) -> tuple[float, _Rim, _Rim] | None:
    """Return the depth below the lower of the two mouths' edges, and those edges; None where there is no dip."""

    def height(rim: _Rim) -> float:
        return sense * ((rim.along if side == "face" else rim.radius) - floor)

    def land(rim: _Rim, raw: float) -> float:
        grown = sense * ((rim.land_along if side == "face" else rim.land_radius) - floor)
        return grown if raw < grown <= (1.0 + _BEVEL_SHARE) * raw else raw

    before = [rim for rim in rims if (rim.radius if side == "face" else rim.along) < middle - SAME_PLACE_MM]
    after = [rim for rim in rims if (rim.radius if side == "face" else rim.along) > middle + SAME_PLACE_MM]
    if not before or not after:
        return None
    low, high = max(before, key=height), max(after, key=height)
    if min(height(low), height(high)) <= SAME_PLACE_MM:
        return None
    return min(land(low, height(low)), land(high, height(high))), low, high


def _steep(view: View, first: int, faces: tuple[int, ...], side: Side) -> bool:
    """Return whether the two flanks look at one another, rather than up or away from one another as a rib's do."""
    rows = view.lookouts.of(faces)
    axis, normal = view.part.face_axis[first], view.lookouts.normal[rows]
    along, radius = _turned(view, first, view.lookouts.foot_mm[rows])
    if side != "face":
        looks, across = normal @ axis, along
    else:
        offset = view.lookouts.foot_mm[rows] - view.part.face_origin_mm[first]
        out = offset - (offset @ axis)[:, None] * axis
        looks = np.einsum("ij,ij->i", normal, out) / np.maximum(np.linalg.norm(out, axis=1), SAME_PLACE_MM)
        across = radius
    onward, back = across[looks > _STEEP], across[looks < -_STEEP]
    if not len(onward) or not len(back):
        return False
    if side == "face":
        return bool(onward.mean() < back.mean())  # rounded rims look both ways
    return bool(onward.min() < back.max())  # a lip may leave most of one flank away


def _described(
    view: View,
    first: int,
    faces: tuple[int, ...],
    way: tuple[Side, int],
    heights: tuple[float, float],
    mouth: tuple[_Rim, _Rim],
) -> Channel:
    """Return a channel with its sizes; fillets in its corners are left to their own feature."""
    part = view.part
    (side, sense), (floor_height, depth), (low, high) = way, heights, mouth
    origin, axis = part.face_origin_mm[first], part.face_axis[first]
    slack = SAME_PLACE_MM + part.mesh.chord_mm

    def heights_of(face: int) -> Floats:
        along, radius = _profile(view, first, (face,))
        return sense * (along if side == "face" else radius)

    def reaches_floor(face: int) -> bool:
        return float(heights_of(face).min()) <= sense * floor_height + slack

    kept = tuple(face for face in faces if not view.blends.is_blend[face])
    floors = [face for face in kept if reaches_floor(face)]
    if not floors:
        kept, floors = faces, [face for face in faces if reaches_floor(face)]
    if side == "face":
        out = sense * axis
        place, width, diameter = floor_height, abs(high.radius - low.radius), 2 * max(high.radius, low.radius)
    else:
        out = part.face_normal[min(floors, key=lambda face: float(np.ptp(heights_of(face))))]
        place, width, diameter = 0.5 * (low.along + high.along), abs(high.along - low.along), 2 * floor_height
    return Channel(kept, side, out, origin + place * axis, width, depth, diameter)
