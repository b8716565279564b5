"""In which units a body was drawn: those in which its sizes are round numbers."""

from analyzers.data.unit_guess import evident_unit_system
from analyzers.features.hole import Hole
from analyzers.model.report import Facts
from analyzers.units import UnitSystem


def drawn_in(facts: Facts, length_unit: str | None) -> UnitSystem:
    """Return the units in which hole sizes and outline are round.

    Parameters
    ----------
    length_unit : of the file; taken where the sizes do not tell. None = millimetres
    """
    holes = [each for each in facts.features if isinstance(each, Hole)]
    lengths = [each.diameter_mm for each in holes] + [each.depth_mm for each in holes if each.depth_mm is not None]
    written = (length_unit or "").lower()
    return evident_unit_system([*lengths, *facts.part.size_mm], "inch" if written.startswith("in") else "mm")
