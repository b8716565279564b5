"""Names the form of a hollow by where it is open, and finds the cutter's way into it."""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from analyzers.features._hollow_size import UPRIGHT, leans_over
from analyzers.features._hollows import OPEN_SHARE, Hollow, enclosure
from analyzers.features._necks import with_neck
from analyzers.features._reach import reach
from analyzers.features._view import View
from analyzers.model.arrays import Floats, cross_product, unit
from analyzers.model.part import Part, Surface
from analyzers.tolerance import PARALLEL_COS, SAME_PLACE_MM, TWIN_AREA_RATIO

Form = Literal["closed", "passage", "open", "slot", "step", "outer"]

_SLOPE, _WALL = 0.02, 0.999  # part of a normal along an axis: from here on a slope, up to here no wall across it
_NEARLY_OPEN = 0.9  # lookouts of a shallow groove that see out along its way; another feature may block some
_SAME_SHARE = 0.05  # shares of lookouts that see out differ by less where a hollow is as open one way as another
_LOOKS = 0.9  # part of a flat face's normal along a way that it looks
_LEVEL = 0.7  # part of the normals beside a groove along its way out: they look up, not aside
_LEANING = 0.1  # cosine between the normals of two dovetail flanks: below it from 42 degrees on
_ROOF, _FLAT_ROOF = -0.3, -0.8  # part of a normal along the way out of a slot: a wall that leans over, a bridge
_BRIDGED_SHARE = 0.6  # of a slot's walls see out past its bridges; of a passage's fewer do


@dataclass(frozen=True, slots=True)
class Named:
    """A hollow (with its neck, where it has one), its form, and the way out to the cutter."""

    hollow: Hollow
    form: Form
    through: bool
    direction: Floats
    floors: tuple[int, ...]


def named(view: View, hollow: Hollow) -> Named | None:
    """Return a hollow with its form; None where it is none but a part of the outside."""
    form, through = _form(view, hollow)
    if form == "outer":
        return None
    up = _roofless(view, hollow) if form == "slot" and len(hollow.open_ways) == 2 and through else None
    if form in ("closed", "passage"):
        hollow, up = with_neck(view, hollow)
        form = form if up is None else "slot"
    direction = _direction(view, hollow, form) if up is None else up
    notch = _notch_direction(view, hollow) if form == "slot" and through and up is None else None
    if notch is not None:
        return Named(hollow, "open", through, notch, ())
    floors = _floors(view, hollow, direction) if form != "passage" else ()
    if form == "closed" and _open_at_floor(view, hollow, floors, direction):
        form = "open"
    return Named(hollow, form, through, direction, floors)


def _notch_direction(view: View, hollow: Hollow) -> Floats | None:
    """Return the way to cut a recess that is open at one side and right through: None where it is rather a slot.

    Seen from its open side it looks like a slot; it is a notch when it is shorter through than wide or deep.
    """
    ways = hollow.open_ways
    through = next((hollow.way(w) for w in ways if w ^ 1 in ways), None)
    side = next((hollow.way(w) for w in ways if w ^ 1 not in ways), None)
    if through is None or side is None:
        return None
    if hollow.floors:
        return None  # one of several that cross on one floor
    thick, deep, wide = (
        float(np.diff(reach(view, hollow.faces, axis))[0]) for axis in (through, side, cross_product(through, side))
    )
    if not hollow.facing_walls or thick >= max(deep, wide):
        return None
    return max(through, -through, key=_order)


def _undercut(view: View, hollow: Hollow) -> bool:
    """Return whether walls that lean over the mouth face one another, as those of a dovetail do."""
    leans = any(leans_over(view, hollow, hollow.way(way)) for way in hollow.open_ways)
    return leans and hollow.facing_cos < _LEANING


def _form(view: View, hollow: Hollow) -> tuple[Form, bool]:
    """Return the form and whether it runs through, from the directions in which the hollow is open.

    Closed pockets are open one way, passages two opposite ways; slots at the top and one or both ends; steps at the
    top and two or more sides.
    """
    ways = set(hollow.open_ways) - _round_ends(view, hollow)
    opposite = sum(1 for i in (0, 2, 4) if {i, i + 1} <= ways)
    if len(ways) == 0:
        return "closed", False
    if len(ways) == 1:
        return "closed", False
    if len(ways) == 2:
        if opposite:
            return ("passage", True) if _roofless(view, hollow) is None else ("slot", True)
        return ("slot", False) if hollow.facing_walls or _undercut(view, hollow) else ("step", True)
    if len(ways) <= 4 and _sunk(view, hollow):
        return "slot", True
    if len(ways) == 3:
        if opposite:
            return "slot" if hollow.walled else "step", True
        return "step", _valley(view, hollow)
    if len(ways) == 4 or (ways and _shelf(view, hollow)):
        return "step", True
    return "outer", False


def _round_ends(view: View, hollow: Hollow) -> set[int]:
    """Return the ways that are open only because another recess ate the middle of a round end: it is still an end.

    What is left of it are pieces of one hollow cylinder that run smoothly into two walls as far apart as it is wide.
    """
    part = view.part
    ends: dict[int, list[int]] = {}
    for face in hollow.faces:
        if part.face_surface[face] == Surface.CYLINDER and part.face_concave[face]:
            ends.setdefault(int(view.surface[face]), []).append(face)
    ways = set()
    for pieces in ends.values():
        beside = {view.across(edge, face) for face in pieces for edge in view.around[face] if view.smooth[edge]}
        walls = [face for face in beside & set(hollow.faces) if part.face_surface[face] == Surface.PLANE]
        if len(pieces) < 2 or not _as_wide(part, walls, float(part.face_radius_mm[pieces[0]])):
            continue
        inward = part.face_normal[pieces].sum(axis=0)
        ways |= {way for way in hollow.open_ways if float(hollow.way(way) @ unit(inward)) < -PARALLEL_COS}
    return ways


def _as_wide(part: Part, walls: list[int], radius: float) -> bool:
    """Return whether two walls face one another at twice a radius."""
    return any(
        float(part.face_axis[one] @ part.face_axis[two]) < -PARALLEL_COS
        and abs(float((part.face_origin_mm[two] - part.face_origin_mm[one]) @ part.face_axis[one]) - 2.0 * radius)
        <= 2.0 * SAME_PLACE_MM
        for one in walls
        for two in walls
    )


def _sunk(view: View, hollow: Hollow) -> bool:
    """Return whether a shallow groove lies within one face: it runs out at no side, yet no walls face one another."""
    share, ways = hollow.open_share, hollow.open_ways
    path = next((way for way in ways if way ^ 1 in ways), None)
    if path is None:
        return False
    for up in (way for way in ways if way ^ 1 not in ways and share[way] >= _NEARLY_OPEN):
        sides = [way for way in range(6) if way // 2 not in (up // 2, path // 2)]
        beside = _beside_along(view, hollow, hollow.way(path))
        level = bool((beside @ hollow.way(up) > _LEVEL).all()) if len(beside) else True
        if level and share[sides].max() < OPEN_SHARE:
            return True
    return False


def _beside_along(view: View, hollow: Hollow, path: Floats) -> Floats:
    """Return (N, 3) normals of the outer faces beyond the outside corners that follow a hollow along its path."""
    part = view.part
    edges = {(edge, view.across(edge, f)) for f in hollow.faces for edge in view.around[f] if view.convex[edge]}
    along = [f for e, f in edges if view.supporting[f] and abs(float(part.edge_tangent[e] @ path)) > PARALLEL_COS]
    return part.face_normal[sorted(along)]


def _roofless(view: View, hollow: Hollow) -> Floats | None:
    """Return the way out of a passage that runs open along most of its length, as a slot under a bridge; else None.

    Where walls lean over the way out, the passage cannot be cut from there.
    """
    rows, own = view.lookouts.of(hollow.faces), enclosure(view, hollow.faces)
    for number in range(6):
        way = hollow.way(number)
        looks = view.lookouts.normal[rows] @ way
        if number in hollow.open_ways or ((looks < _ROOF) & (looks > _FLAT_ROOF)).any():
            continue
        beside = rows[looks > _ROOF]
        if len(beside) and view.lookouts.leaves(beside, way[None], own).mean() > _BRIDGED_SHARE:
            return way
    return None


def _shelf(view: View, hollow: Hollow) -> bool:
    """Return whether a hollow open all round has a flat floor and upright walls on it: a step along several sides."""
    part = view.part
    for way in hollow.open_ways:
        up = hollow.way(way)
        if way ^ 1 in hollow.open_ways or not _floors(view, hollow, up):
            continue
        looks = part.face_normal[list(hollow.faces)] @ up
        if ((looks > PARALLEL_COS) | (np.abs(looks) < UPRIGHT)).all():
            return True
    return False


def _valley(view: View, hollow: Hollow) -> bool:
    """Return whether a step's floor rises to two opposite sides: it runs out at both though it looks open at one."""
    part = view.part
    normal = part.face_normal[list(hollow.faces)]
    for row, axis in enumerate(hollow.frame):
        seen = hollow.open_share[2 * row : 2 * row + 2]
        along = normal @ axis
        slopes = bool((along > _SLOPE).any() and (along < -_SLOPE).any() and np.abs(along).max() < _WALL)
        if slopes and seen.min() > 0.0 and seen.max() < OPEN_SHARE:
            return True
    return False


def _direction(view: View, hollow: Hollow, form: Form) -> Floats:
    """Return the direction the cutter comes from, so that it does not depend on how the part lies.

    The open way that the largest flat face looks; where all open ways have an opposite, first the one by which most of
    it is seen. Of equals the one by which more of the part is cut away: farther from its centres.
    """
    ways = list(hollow.open_ways) or list(range(6))
    lone = [way for way in ways if way ^ 1 not in ways]
    if form != "passage":
        ways = lone or _largest(ways, {way: float(hollow.open_share[way]) for way in ways}, _SAME_SHARE)
        area = {way: _facing_mm2(view, hollow, hollow.way(way)) for way in ways}
        ways = _largest(ways, area, TWIN_AREA_RATIO * abs(max(area.values())))  # a damaged face may measure below zero
    for centre in view.centres_mm:
        lean = {
            way: float(sum(reach(view, hollow.faces, hollow.way(way))) / 2 - centre @ hollow.way(way)) for way in ways
        }
        ways = _largest(ways, lean, SAME_PLACE_MM)
    return max((hollow.way(way) for way in ways), key=_order)


def _facing_mm2(view: View, hollow: Hollow, way: Floats) -> float:
    """Return the area of a hollow's flat faces that look along a way."""
    part = view.part
    flat = [f for f in {*hollow.faces, *hollow.floors} if part.face_surface[f] == Surface.PLANE]
    return float(sum(part.face_area_mm2[f] for f in flat if float(part.face_axis[f] @ way) > _LOOKS))


def _largest(ways: list[int], value: dict[int, float], slack: float) -> list[int]:
    """Return the ways whose value is the largest, within what noise makes of equal ones."""
    least = max(value[way] for way in ways) - slack
    return [way for way in ways if value[way] >= least]


def _order(vector: Floats) -> tuple[float, ...]:
    """Return a vector as a sorting key that noise does not change."""
    return tuple(round(float(v), 6) for v in vector)


def _floors(view: View, hollow: Hollow, direction: Floats) -> tuple[int, ...]:
    part = view.part
    own = dict.fromkeys([*hollow.faces, *hollow.floors])
    looks = {f: float(part.face_axis[f] @ direction) for f in own if part.face_surface[f] == Surface.PLANE}
    return tuple(f for f, look in looks.items() if look > PARALLEL_COS)


def _open_at_floor(view: View, hollow: Hollow, floors: tuple[int, ...], direction: Floats) -> bool:
    """Return whether a floor runs out at an outer side face, though walls of the hollow block the straight view."""
    part = view.part
    for floor in floors:
        for edge in view.around[floor]:
            beside = view.across(edge, floor)
            if not view.convex[edge] or beside < 0 or beside in hollow.faces or not view.supporting[beside]:
                continue
            if abs(float(part.face_axis[beside] @ direction)) < UPRIGHT:
                return True
    return False
