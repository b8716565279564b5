"""Names the form of a hollow by where it is open, and measures it: direction, depth, plan box, corner and floor radii."""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from analyzers.features._hollows import Hollow, find_hollows
from analyzers.features._plan_box import plan_box
from analyzers.features._view import View
from analyzers.model.arrays import Floats, Vec, vec
from analyzers.model.part import Surface
from analyzers.tolerance import SAME_ANGLE_DEG, SAME_PLACE_MM

Form = Literal["closed", "passage", "open", "slot", "step", "outer"]

_PARALLEL = float(np.cos(np.radians(SAME_ANGLE_DEG)))
_SLOT_LENGTH = 3.0  # a blind obround this many widths long is called a slot, a stubbier one a pocket
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
    floors: tuple[int, ...]
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
    direction = _direction(view, hollow, form, through)
    floors = _floors(view, hollow, direction) if not (form == "passage") else ()
    if form == "closed" and _open_at_floor(view, hollow, floors, direction):
        form = "open"
    points = view.points_of(_with_broken_edges(view, hollow.faces))
    height = points @ direction
    length, width = plan_box(view.points_of(hollow.faces), direction)
    walls = [f for f in hollow.faces if f not in floors]
    middle = 0.5 * (points.min(axis=0) + points.max(axis=0))
    top = middle + (height.max() - middle @ direction) * direction
    return Shaped(
        hollow=hollow,
        form=form,
        through=through,
        direction=vec(direction),
        position_mm=vec(top),
        depth_mm=float(np.ptp(height)),
        length_mm=length,
        width_mm=_wall_gap(view, walls, direction, width) if form == "slot" else width,
        floors=floors,
        corner_radius_mm=_corner_radius(view, walls, direction),
        floor_radius_mm=_floor_radius(view, walls, floors),
        islands=_islands(view, floors, set(hollow.faces)),
        obround=form in ("closed", "passage")
        and _obround(view, walls, direction)
        and (form == "passage" or length >= _SLOT_LENGTH * width),
    )


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
            return "passage", True
        return ("slot", False) if hollow.facing_walls else ("step", True)
    if len(ways) == 3:
        return ("slot", True) if opposite else ("step", False)
    if len(ways) == 4:
        return "step", True
    return "outer", False


def _direction(view: View, hollow: Hollow, form: Form, through: bool) -> Floats:
    """Return the direction the cutter comes from: the open way that the largest flat face looks."""
    part = view.part
    ways = hollow.open_ways or (int(np.argmax(hollow.open_share)),)
    lone = [way for way in ways if way ^ 1 not in ways]
    if form == "passage" or not lone:
        vectors = [hollow.way(way) for way in ways]
        return max(vectors, key=lambda v: tuple(np.round(v, 6)))
    area = dict.fromkeys(lone, 0.0)
    for face in hollow.faces:
        if part.face_surface[face] != Surface.PLANE:
            continue
        for way in lone:
            if float(part.face_axis[face] @ hollow.way(way)) > 0.9:
                area[way] += float(part.face_area_mm2[face])
    best = max(lone, key=lambda way: (round(area[way], 6), tuple(np.round(hollow.way(way), 6))))
    return hollow.way(best)


def _floors(view: View, hollow: Hollow, direction: Floats) -> tuple[int, ...]:
    part = view.part
    looks = {f: float(part.face_axis[f] @ direction) for f in hollow.faces if part.face_surface[f] == Surface.PLANE}
    return tuple(f for f, look in looks.items() if look > _PARALLEL)


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


def _with_broken_edges(view: View, faces: tuple[int, ...]) -> list[int]:
    """Return the faces and the small claimed faces (rounded or chamfered rims) that continue their walls upwards."""
    rim = set(faces)
    for face in faces:
        for edge in view.around[face]:
            beside = view.across(edge, face)
            if beside < 0 or view.concave[edge] or view.free[beside]:
                continue
            if (view.blends.is_blend[beside] and not view.blends.concave[beside]) or (view.part.face_surface[beside] == Surface.PLANE and view.convex[edge]):
                rim.add(beside)
    return sorted(rim)


def _wall_gap(view: View, walls: list[int], direction: Floats, fallback: float) -> float:
    """Return the distance between the two upright walls of a slot that look at one another."""
    part = view.part
    upright = [
        f
        for f in walls
        if part.face_surface[f] == Surface.PLANE and abs(float(part.face_axis[f] @ direction)) < _UPRIGHT
    ]
    gaps = []
    for i, first in enumerate(upright):
        for second in upright[i + 1 :]:
            if float(part.face_axis[first] @ part.face_axis[second]) > -_PARALLEL:
                continue
            ahead = float((part.face_origin_mm[second] - part.face_origin_mm[first]) @ part.face_axis[first])
            if ahead > SAME_PLACE_MM:
                gaps.append(ahead)
    return min(gaps, default=fallback)


def _corner_radius(view: View, walls: list[int], direction: Floats) -> float | None:
    """Return the smallest upright inside corner: 0 = sharp, None = none at all."""
    part, blends = view.part, view.blends
    members, radii = set(walls), []
    for face in walls:
        if part.face_surface[face] == Surface.CYLINDER and part.face_concave[face]:
            if abs(float(part.face_axis[face] @ direction)) > _PARALLEL:
                radii.append(float(part.face_radius_mm[face]))
        for edge in view.around[face]:
            if view.concave[edge] and view.across(edge, face) in members:
                if abs(float(part.edge_tangent[edge] @ direction)) > 0.5:
                    radii.append(0.0)
    for (left, right), blend in zip(blends.joins.tolist(), blends.join_blend.tolist(), strict=True):
        if left in members and right in members and blends.concave[blend]:
            if abs(float(part.face_axis[blend] @ direction)) > 0.5 and np.isfinite(blends.radius_mm[blend]):
                radii.append(float(blends.radius_mm[blend]))
    return min(radii, default=None)


def _floor_radius(view: View, walls: list[int], floors: tuple[int, ...]) -> float | None:
    """Return the smallest radius between a wall and the floor: 0 = sharp, None = no floor."""
    if not floors:
        return None
    blends, radii = view.blends, []
    wall_set, floor_set = set(walls), set(floors)
    for floor in floors:
        if any(view.concave[e] and view.across(e, floor) in wall_set for e in view.around[floor]):
            radii.append(0.0)
    for (left, right), blend in zip(blends.joins.tolist(), blends.join_blend.tolist(), strict=True):
        if {left, right} & floor_set and {left, right} & wall_set and blends.concave[blend]:
            if np.isfinite(blends.radius_mm[blend]):
                radii.append(float(blends.radius_mm[blend]))
    return min(radii, default=0.0)


def _islands(view: View, floors: tuple[int, ...], faces: set[int]) -> int:
    """Return how many inner borders of the floors have material standing on them."""
    part, found = view.part, set()
    for floor in floors:
        for row in np.flatnonzero((part.coedge_face == floor) & (part.coedge_loop > 0)).tolist():
            edge = int(part.coedge_edge[row])
            fillet = view.smooth[edge] and view.blends.concave[view.across(edge, floor)]
            if view.concave[edge] or fillet:
                found.add((floor, int(part.coedge_loop[row])))
    return len(found)


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
    upright = np.abs(part.face_axis[round_] @ direction) > _PARALLEL
    facing = float(part.face_axis[flat[0]] @ part.face_axis[flat[-1]]) < -_PARALLEL
    return bool(upright.all() and np.ptp(radius) <= SAME_PLACE_MM and facing)
