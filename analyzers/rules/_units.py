"""In which units the part was drawn."""

from analyzers.data.unit_guess import evident_unit_system
from analyzers.features.hole import Hole
from analyzers.rules._base import Case
from analyzers.units import UnitSystem


def drawn_in(case: Case) -> UnitSystem:
    """Return the units in which hole sizes and outline are round; where they do not tell, those of the file."""
    lengths = [each.diameter_mm for each in case.features(Hole)]
    lengths += [each.depth_mm for each in case.features(Hole) if each.depth_mm is not None]
    written = (case.source.length_unit or "").lower()
    return evident_unit_system([*lengths, *case.facts.part.size_mm], "inch" if written.startswith("in") else "mm")
