"""Names the form of a hollow by where it is open, and puts its sizes beside it."""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from analyzers.features._hollow_size import corner_radius, floor_radius, islands, mouth, rim_faces
from analyzers.features._hollows import OPEN_SHARE, Hollow, enclosure, find_hollows
from analyzers.features._necks import with_neck
from analyzers.features._plan_box import plan_box, plan_middle
from analyzers.features._reach import reach
from analyzers.features._view import View
from analyzers.model.arrays import Floats, Vec, vec
from analyzers.model.part import Surface
from analyzers.tolerance import PARALLEL_COS, SAME_PLACE_MM

Form = Literal["closed", "passage", "open", "slot", "step", "outer"]

_SLOT_LENGTH = 3.0  # a blind obround this many widths long is called a slot, a stubbier one a pocket
_SLOT_RATIO = 1.5  # a recess open at one side is a slot when it is this many widths long, else an open pocket
_SLOPE, _WALL = 0.02, 0.999  # part of a normal along an axis: from here on a slope, up to here no wall across it
_ROOF, _FLAT_ROOF = -0.3, -0.8  # part of a normal along the way out of a slot: a wall that leans over, a bridge
_BRIDGED_SHARE = 0.6  # of a slot's walls that see out past its bridges; a passage's see less
_UPRIGHT = float(np.sin(np.radians(10.0)))  # a wall leans less than this; drafts are 1 to 5 degrees


@dataclass(frozen=True, slots=True)
class Shaped:
    """A hollow with its form and size in millimetres; lengths of the plan box lie across `direction`."""

    hollow: Hollow
    form: Form
    through: bool
    direction: Vec
    position_mm: Vec
    depth_mm: float
    length_mm: float
    width_mm: float
    undercut_width_mm: float | None  # wider below than at the mouth
    corner_radius_mm: float | None
    floor_radius_mm: float | None
    islands: int
    obround: bool  # closed, two straight walls joined by two half rounds, and long or through: a slot by its use


def shaped_hollows(view: View) -> list[Shaped]:
    """Return the hollows of a part with their forms, found once for all recognisers that ask."""
    return view.remember("hollows", lambda: [shape for h in find_hollows(view) if (shape := _shape(view, h))])


def _shape(view: View, hollow: Hollow) -> Shaped | None:
    form, through = _form(view, hollow)
    if form == "outer":
        return None
    mouth_way = _roofless(view, hollow) if form == "slot" and len(hollow.open_ways) == 2 and through else None
    hollow, up = with_neck(view, hollow) if form in ("closed", "passage") else (hollow, None)
    if up is not None:
        form = "slot"
    up = mouth_way if up is None else up
    direction = _direction(view, hollow, form) if up is None else up
    notch = _notch_direction(view, hollow) if form == "slot" and through and up is None else None
    if notch is not None:
        form, direction = "open", notch
    floors = _floors(view, hollow, direction) if form != "passage" and notch is None else ()
    if form == "closed" and _open_at_floor(view, hollow, floors, direction):
        form = "open"
    faces, walls = hollow.faces, [f for f in hollow.faces if f not in floors]
    low, high = reach(view, rim_faces(view, faces), direction)
    if floors:  # what breaks the border of a floor lies below it, and is no part of the depth
        low, high = reach(view, faces, direction)[0], reach(view, rim_faces(view, walls) or faces, direction)[1]
    length, width = plan_box(view, faces, direction)
    undercut = None
    if form == "slot":
        length, width, undercut = _slot_box(view, hollow, direction, (length, width))
        if not through and length < _SLOT_RATIO * width:
            form, length, width = "open", max(length, width), min(length, width)
    if form == "step":
        width = _step_width(view, hollow, rim_faces(view, floors or faces), direction, width)
    return Shaped(
        hollow=hollow,
        form=form,
        through=through,
        direction=vec(direction),
        position_mm=vec(plan_middle(view, faces, direction) + high * direction),
        depth_mm=high - low,
        length_mm=length,
        width_mm=width,
        undercut_width_mm=undercut,
        corner_radius_mm=corner_radius(view, walls, direction),
        floor_radius_mm=floor_radius(view, walls, floors),
        islands=islands(view, floors),
        obround=form in ("closed", "passage")
        and _obround(view, walls, direction)
        and (form == "passage" or length >= _SLOT_LENGTH * width - SAME_PLACE_MM),
    )


def _notch_direction(view: View, hollow: Hollow) -> Floats | None:
    """Return the way to cut a recess that is open at one side and right through: None where it is rather a slot.

    Seen from its open side it looks like a slot; it is a notch when it is shorter through than wide or deep.
    """
    ways = hollow.open_ways
    through = next((hollow.way(w) for w in ways if w ^ 1 in ways), None)
    side = next((hollow.way(w) for w in ways if w ^ 1 not in ways), None)
    if through is None or side is None:
        return None
    thick, deep, wide = (
        float(np.diff(reach(view, hollow.faces, axis))[0]) for axis in (through, side, np.cross(through, side))
    )
    if not hollow.facing_walls or thick >= max(deep, wide):
        return None
    return max(through, -through, key=_order)


def _slot_box(
    view: View, hollow: Hollow, direction: Floats, fallback: tuple[float, float]
) -> tuple[float, float, float | None]:
    """Return length along the slot, width at its mouth, and its largest width where that is more (an undercut)."""
    ends = [hollow.way(w) for w in hollow.open_ways if abs(float(hollow.way(w) @ direction)) < _UPRIGHT]
    if not ends:
        return (*fallback, None)
    path, side = ends[0], np.cross(direction, ends[0])
    length, widest = (float(np.diff(reach(view, hollow.faces, axis))[0]) for axis in (path, side))
    width = mouth(view, hollow.faces, direction, side)
    if width is None or width <= SAME_PLACE_MM:
        return length, widest, None
    return length, width, widest if widest > width + SAME_PLACE_MM and _leans_over(view, hollow, direction) else None


def _leans_over(view: View, hollow: Hollow, direction: Floats) -> bool:
    """Return whether a face of the slot looks away from the cutter: what lies under it is an undercut."""
    looks = view.part.face_normal[list(hollow.faces)] @ direction
    return bool(looks.min() < -_UPRIGHT)


def _step_width(view: View, hollow: Hollow, rims: list[int], direction: Floats, fallback: float) -> float:
    """Return how far a step reaches in from its open side."""
    ways = hollow.open_ways
    sides = [hollow.way(w) for w in ways if w ^ 1 not in ways and abs(float(hollow.way(w) @ direction)) < _UPRIGHT]
    widths = [reach(view, rims, side)[1] - reach(view, hollow.faces, side)[0] for side in sides]
    return min(widths, default=fallback)


def _form(view: View, hollow: Hollow) -> tuple[Form, bool]:
    """Return the form and whether it runs through, from the directions in which the hollow is open.

    Closed pockets are open one way, passages two opposite ways; slots at the top and one or both ends; steps at the
    top and two or more sides.
    """
    ways = set(hollow.open_ways)
    opposite = sum(1 for i in (0, 2, 4) if {i, i + 1} <= ways)
    if len(ways) == 0:
        return "closed", False
    if len(ways) == 1:
        return "closed", False
    if len(ways) == 2:
        if opposite:
            return ("passage", True) if _roofless(view, hollow) is None else ("slot", True)
        return ("slot", False) if hollow.facing_walls else ("step", True)
    if len(ways) <= 4 and _sunk(hollow):
        return "slot", True
    if len(ways) == 3:
        if opposite:
            return "slot" if hollow.walled else "step", True
        return "step", _valley(view, hollow)
    if len(ways) == 4:
        return "step", True
    return "outer", False


def _sunk(hollow: Hollow) -> bool:
    """Return whether a shallow groove lies within one face: it runs out at no side, yet no walls face one another."""
    share, ways = hollow.open_share, hollow.open_ways
    if not any(way ^ 1 in ways for way in ways):
        return False
    for up in (way for way in ways if way ^ 1 not in ways and share[way] >= OPEN_SHARE):
        sides = [way for way in range(6) if way // 2 != up // 2 and not {way, way ^ 1} <= set(ways)]
        if len(sides) == 2 and not hollow.bordered[sides].any() and 0.0 < share[sides].max() < OPEN_SHARE:
            return True
    return False


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
    """Return the direction the cutter comes from: the open way that the largest flat face looks."""
    part = view.part
    ways = hollow.open_ways or (int(np.argmax(hollow.open_share)),)
    lone = [way for way in ways if way ^ 1 not in ways]
    if form == "passage" or not lone:
        vectors = [hollow.way(way) for way in ways]
        return max(vectors, key=_order)
    area = dict.fromkeys(lone, 0.0)
    for face in hollow.faces:
        if part.face_surface[face] != Surface.PLANE:
            continue
        for way in lone:
            if float(part.face_axis[face] @ hollow.way(way)) > 0.9:
                area[way] += float(part.face_area_mm2[face])
    best = max(lone, key=lambda way: (round(area[way], 6), _order(hollow.way(way))))
    return hollow.way(best)


def _order(vector: Floats) -> tuple[float, ...]:
    """Return a vector as a sorting key that noise does not change."""
    return tuple(round(float(v), 6) for v in vector)


def _floors(view: View, hollow: Hollow, direction: Floats) -> tuple[int, ...]:
    part = view.part
    looks = {f: float(part.face_axis[f] @ direction) for f in hollow.faces if part.face_surface[f] == Surface.PLANE}
    return tuple(f for f, look in looks.items() if look > PARALLEL_COS)


def _open_at_floor(view: View, hollow: Hollow, floors: tuple[int, ...], direction: Floats) -> bool:
    """Return whether a floor runs out at an outer side face, though walls of the hollow block the straight view."""
    part = view.part
    for floor in floors:
        for edge in view.around[floor]:
            beside = view.across(edge, floor)
            if not view.convex[edge] or beside < 0 or beside in hollow.faces or not view.supporting[beside]:
                continue
            if abs(float(part.face_axis[beside] @ direction)) < _UPRIGHT:
                return True
    return False


def _obround(view: View, walls: list[int], direction: Floats) -> bool:
    """Return whether the walls are two parallel planes joined smoothly by two half cylinders."""
    part = view.part
    flat = [f for f in walls if part.face_surface[f] == Surface.PLANE]
    round_ = [f for f in walls if part.face_surface[f] == Surface.CYLINDER and part.face_concave[f]]
    if len(flat) + len(round_) != len(walls) or len({int(view.surface[f]) for f in round_}) != 2:
        return False
    if len({int(view.surface[f]) for f in flat}) != 2:
        return False
    radius = part.face_radius_mm[round_]
    upright = np.abs(part.face_axis[round_] @ direction) > PARALLEL_COS
    facing = float(part.face_axis[flat[0]] @ part.face_axis[flat[-1]]) < -PARALLEL_COS
    return bool(upright.all() and np.ptp(radius) <= SAME_PLACE_MM and facing)
