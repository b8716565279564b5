"""Puts sizes beside the form of a hollow: what pockets, slots and steps are made of."""

from dataclasses import dataclass, replace

from analyzers.features._crossings import uncrossed
from analyzers.features._hollow_form import Form, Named, named
from analyzers.features._hollow_size import (
    UPRIGHT,
    corner_radius,
    floor_radius,
    islands,
    rim_faces,
    slot_box,
    step_width,
)
from analyzers.features._hollows import Hollow, find_hollows
from analyzers.features._paths import bent_path, round_ended, uneven
from analyzers.features._plan_box import plan_box, plan_middle
from analyzers.features._reach import reach
from analyzers.features._view import View
from analyzers.model.arrays import Vec, vec
from analyzers.tolerance import SAME_PLACE_MM

_SLOT_LENGTH = 3.0  # a blind obround this many widths long is called a slot, a stubbier one a pocket
_SLOT_RATIO = 1.5  # a recess open at one side is a slot when it is this many widths long, else an open pocket


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
    obround: bool  # closed, two parallel walls joined by two half rounds, and long or through: a slot by its use


def shaped_hollows(view: View) -> list[Shaped]:
    """Return the hollows of a part with their forms, found once for all recognisers that ask."""
    return view.remember("hollows", lambda: _all_shapes(view))


def _all_shapes(view: View) -> list[Shaped]:
    hollows = [each for hollow in find_hollows(view) for each in uncrossed(view, hollow)]
    names = [named(view, hollow) for hollow in hollows]
    return [_shape(view, name) for name in names if name is not None]


@dataclass(frozen=True, slots=True)
class _Plan:
    """Form and size as seen along the cutter's way, millimetres."""

    form: Form
    through: bool
    length_mm: float
    width_mm: float
    undercut_width_mm: float | None = None
    obround: bool = False


def _shape(view: View, name: Named) -> Shaped:
    faces, direction, floors = name.hollow.faces, name.direction, name.floors
    walls = [face for face in faces if face not in floors]
    low, high = reach(view, rim_faces(view, faces), direction)
    if floors:  # what breaks the border of a floor lies below it, and is no part of the depth
        low, high = reach(view, faces, direction)[0], reach(view, rim_faces(view, walls) or faces, direction)[1]
    plan = _plan(view, name, walls)
    return Shaped(
        hollow=name.hollow,
        form=plan.form,
        through=plan.through,
        direction=vec(direction),
        position_mm=vec(plan_middle(view, faces, direction) + high * direction),
        depth_mm=high - low,
        length_mm=plan.length_mm,
        width_mm=plan.width_mm,
        undercut_width_mm=plan.undercut_width_mm,
        corner_radius_mm=corner_radius(view, walls, direction),
        floor_radius_mm=floor_radius(view, walls, floors),
        islands=islands(view, floors),
        obround=plan.obround,
    )


def _plan(view: View, name: Named, walls: list[int]) -> _Plan:
    hollow, direction, floors = name.hollow, name.direction, name.floors
    plan = _Plan(name.form, name.through, *plan_box(view, hollow.faces, direction))
    if plan.form == "slot":
        plan = _straight(view, name, plan)
    if plan.form in ("slot", "step", "open"):
        bent = bent_path(view, hollow, floors, direction)
        if bent is not None and bent[0] >= _SLOT_RATIO * bent[1]:
            ends = sum(abs(float(hollow.way(way) @ direction)) < UPRIGHT for way in hollow.open_ways)
            return _Plan("slot", ends > 1, *bent)
    if plan.form in ("closed", "passage"):
        size = round_ended(view, walls, direction)
        if size and (plan.form == "passage" or size[0] >= _SLOT_LENGTH * size[1] - SAME_PLACE_MM):
            return _Plan(plan.form, plan.through, *size, obround=True)
    if plan.form == "step":
        width = step_width(view, hollow, rim_faces(view, floors or hollow.faces), direction, plan.width_mm)
        return replace(plan, width_mm=width)
    return plan


def _straight(view: View, name: Named, box: _Plan) -> _Plan:
    """Return a slot along a straight path; one that is open at one end and stubby or of several widths is a pocket."""
    hollow, direction = name.hollow, name.direction
    length, width, undercut = slot_box(view, hollow, direction, (box.length_mm, box.width_mm))
    stubby = length < _SLOT_RATIO * width or (undercut is None and uneven(view, hollow, direction, width))
    if stubby and not name.through:
        return _Plan("open", False, max(length, width), min(length, width))
    return _Plan("slot", name.through, length, width, undercut)
