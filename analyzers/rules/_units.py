"""In which units the part was drawn, and what its holes are for."""

from collections.abc import Mapping

from analyzers import plan
from analyzers.data.hole_sizes import Use, uses_in_model
from analyzers.features.hole import Hole
from analyzers.rules._base import Case, once
from analyzers.units import UnitSystem, to_mm

GRID: Mapping[UnitSystem, float] = {"mm": 0.1, "inch": 0.005}
"""Steps in which sizes are proposed, in their unit: what a drawing would say (judgement, no source)."""


@once
def drawn_in(case: Case) -> UnitSystem:
    """Return the units in which hole sizes and outline are round; where they do not tell, those of the file."""
    return plan.drawn_in(case.facts, case.source.length_unit)


def uses_of(case: Case, hole: Hole, units: UnitSystem) -> tuple[Use, ...]:
    """Return what a hole is for, the most plausible first; what the model's own notes name comes before all."""
    notes = case.facts.notes_of(hole)
    return uses_in_model(hole.diameter_mm, hole.depth_mm, hole.through, units, notes)


def named_uses(case: Case, hole: Hole) -> tuple[str, ...]:
    """Return the threads and fits that the model's notes name for a hole: holes that differ in them are not alike."""
    return tuple(note.thread or note.fit for note in case.facts.notes_of(hole) if note.thread or note.fit)


def grid_mm(case: Case) -> float:
    """Return the step in which sizes of this part are proposed."""
    unit = drawn_in(case)
    return to_mm(GRID[unit], unit)
