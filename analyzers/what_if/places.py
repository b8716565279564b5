"""Walls and webs that are thicker, gaps that are wider, and what of the features beside them follows."""

from dataclasses import replace

from analyzers.features.slot import Slot
from analyzers.model.finding import Change
from analyzers.model.report import Facts
from analyzers.tolerance import SAME_LENGTH_MM
from analyzers.what_if.features import narrower, with_dimension

KINDS = {"wall_mm": "wall", "web_mm": "web"}


def with_thickness(facts: Facts, change: Change) -> Facts:
    """Return the facts with the walls or webs between the change's faces at least as thick as its value.

    A wall takes its metal from the widest cavity beside it, so that the outline stays; a web grows by moving its hole.
    """
    value, kind, among = change.number, KINDS[change.field], set(change.faces)
    thin = [
        each for each in facts.walls if each.kind == kind and among.issuperset(each.faces) and each.thickness_mm < value
    ]
    if kind == "wall":
        for place in thin:
            beside = [each for each in facts.features if set(each.faces) & set(place.faces)]
            widest = max(beside, key=lambda each: getattr(each, "width_mm", None) or 0.0, default=None)
            if widest is not None:
                facts = narrower(facts, widest, place, value - place.thickness_mm)
    walls = tuple(replace(each, thickness_mm=value) if each in thin else each for each in facts.walls)
    return replace(facts, walls=tuple(sorted(walls, key=lambda each: (each.thickness_mm, each.faces))))


def with_gap(facts: Facts, change: Change) -> Facts | None:
    """Return the facts with the narrowest gap as wide as the value, and the slot that it is the width of."""
    value = change.number
    gap = facts.measure("min_gap_mm")
    if gap is None or gap.value is None:
        return None
    changed: Facts | None = facts
    for slot in (each for each in facts.features if isinstance(each, Slot) and set(each.faces) & set(gap.faces)):
        if slot.width_mm is not None and abs(slot.width_mm - gap.value) <= SAME_LENGTH_MM and changed is not None:
            changed = with_dimension(changed, slot, "width_mm", value, slot.width_mm)
    if changed is None:
        return None
    measures = tuple(replace(each, value=value) if each.name == gap.name else each for each in changed.measures)
    return replace(changed, measures=measures)
