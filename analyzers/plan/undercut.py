"""Slots that are wider below than at their opening: T-slots take a slot cutter, dovetails one of their own angle."""

import math

import numpy as np

from analyzers.features.slot import Slot
from analyzers.model.arrays import Floats
from analyzers.model.feature import mm_text
from analyzers.model.part import Surface
from analyzers.plan.bench import Bench, Making, Operation, at_most, quickest
from analyzers.settings import Cutter
from analyzers.tolerance import PARALLEL_COS, SMOOTH_DEG


def make_undercut(slot: Slot, bench: Bench, direction: Floats) -> Making:
    """Return the widening of a slot below its opening.

    A slot cutter's neck must run in the opening and its head below the lips; the head comes in at an open end, unless
    it passes the opening itself. A slot whose walls lean over it asks for a dovetail cutter, which shop files do not
    list.
    """
    if slot.undercut_width_mm is None or slot.width_mm is None or slot.depth_mm is None:
        return Making((), unknown="undercut")
    lean = _leaning_deg(slot, bench, direction)
    if lean is not None:
        return Making((), f"its walls lean over it by {lean:.3g}°: a dovetail cutter of that angle is needed")
    head = _head_mm(slot, bench, direction)
    overhang = (slot.undercut_width_mm - slot.width_mm) / 2.0
    volume = 2.0 * overhang * head * (slot.length_mm or slot.undercut_width_mm)

    def fits(cutter: Cutter) -> bool:
        neck = cutter.neck_diameter_mm or cutter.diameter_mm
        inside = at_most(neck + 2.0 * overhang, cutter.diameter_mm) or at_most(neck, slot.width_mm or 0.0)
        reaches_wall = at_most(overhang, (cutter.diameter_mm - neck) / 2.0)
        comes_in = slot.through or at_most(cutter.diameter_mm, slot.width_mm or 0.0)
        small = at_most(cutter.diameter_mm, slot.undercut_width_mm or 0.0) and at_most(cutter.flute_length_mm, head)
        return inside and reaches_wall and comes_in and small and at_most(slot.depth_mm or 0.0, cutter.reach_mm)

    found = quickest(
        filter(fits, bench.shelf("slot")), lambda each: bench.rates.roughing_minutes(each, volume, slot.depth_mm or 0.0)
    )
    if found is not None:
        return Making((Operation("undercut", found[0].id, found[1], slot.id),))
    return Making(
        (),
        f"no slot cutter for an undercut {mm_text(slot.undercut_width_mm)} mm wide and {mm_text(head)} mm high below "
        f"an opening of {mm_text(slot.width_mm)} mm, {mm_text(slot.depth_mm)} mm down",
    )


def _leaning_deg(slot: Slot, bench: Bench, direction: Floats) -> float | None:
    """Return how far the walls of a dovetail lean over it; None where nothing leans."""
    rows = np.array(slot.faces, dtype=np.int64)
    facing = bench.part.face_normal[rows] @ direction
    flat = bench.part.face_surface[rows] == Surface.PLANE
    leans = flat & (facing < -math.sin(math.radians(SMOOTH_DEG))) & (facing > -PARALLEL_COS)
    return math.degrees(math.asin(-float(facing[leans].min()))) if leans.any() else None


def _head_mm(slot: Slot, bench: Bench, direction: Floats) -> float:
    """Return the height of the wide part: from the floor up to the lips; the whole depth where no lips are found."""
    rows = np.array(slot.faces, dtype=np.int64)
    height = bench.part.face_point_mm[rows] @ direction
    facing = bench.part.face_normal[rows] @ direction
    lips, floors = height[facing < -PARALLEL_COS], height[facing > PARALLEL_COS]
    if not len(lips) or not len(floors):
        return slot.depth_mm or 0.0
    return float(lips.min() - floors.min())
