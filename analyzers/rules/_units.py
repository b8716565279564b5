"""In which units the part was drawn, and what its holes are for."""

from collections.abc import Mapping

from analyzers import plan
from analyzers.data.hole_sizes import Use, uses_in_model
from analyzers.features.hole import Hole
from analyzers.rules._base import Case, once
from analyzers.rules._say import round_down, round_up
from analyzers.units import UnitSystem, to_mm

GRID: Mapping[UnitSystem, float] = {"mm": 0.1, "inch": 0.005}
"""Steps in which sizes are proposed, in their unit: what a drawing would say (judgement, no source)."""

COARSE: Mapping[UnitSystem, float] = {"mm": 0.5, "inch": 1 / 64}
"""The same for what a cutter of the usual sizes makes (judgement, no source)."""


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


def drawn_up(case: Case, size_mm: float) -> float:
    """Return the next size, in mm, that a drawing in the part's units would say: 3.01 is 3.1, or 0.12 in = 3.048."""
    return round_up(size_mm, grid_mm(case))


def drawn_down(case: Case, size_mm: float) -> float:
    """Return the last size, in mm, that a drawing in the part's units would say: 3.19 is 3.1, or 0.125 in = 3.175."""
    return round_down(size_mm, grid_mm(case))


def coarsely_up(case: Case, size_mm: float) -> float:
    """Return the next size, in mm, that one would take off the shelf for the likes of a spotface."""
    unit = drawn_in(case)
    return round_up(size_mm, to_mm(COARSE[unit], unit))
