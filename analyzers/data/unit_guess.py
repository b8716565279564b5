"""In which units a model was evidently drawn, from which system makes its sizes round."""

from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache
from math import log2
from typing import Final

from analyzers.data.hole_catalogue import RARE, holes_near
from analyzers.tolerance import SAME_LENGTH_MM, STANDARD_SIZE_MM
from analyzers.units import MM_PER_INCH, UnitSystem

_ROUND_MM: Final = (10.0, 5.0, 2.0, 1.0, 0.5, 0.25, 0.2, 0.1, 0.05)
_ROUND_IN: Final = (1.0, 1 / 2, 1 / 4, 1 / 8, 0.1, 1 / 16, 0.05, 1 / 32, 1 / 64, 0.01, 0.005, 0.001)
_ROUND_IN_MM: Final = tuple(step * MM_PER_INCH for step in _ROUND_IN)
CHANCE_BITS: Final = 0.5
"""By so much per length the systems differ where there is none: lengths of no system hit a step now and then."""
WRONG_SCALES: Final[tuple[tuple[str, float, UnitSystem], ...]] = (
    ("drawn in inches and read as millimetres", MM_PER_INCH, "inch"),
    ("drawn in millimetres and read as inches", 1.0 / MM_PER_INCH, "mm"),
    ("drawn in centimetres and read as millimetres", 10.0, "mm"),
    ("drawn in metres and read as millimetres", 1000.0, "mm"),
    ("drawn in millimetres and read as metres", 1e-3, "mm"),
)
"""The usual mistakes, what the sizes would have to be multiplied by, and the system they then belong to."""
SMALLEST_HOLE_MM: Final = 0.3  # no shop drills below as a matter of course (judgement, no source)
LARGEST_HOLE_MM: Final = 120.0  # holes above are bored, any size is as good as another (judgement, no source)
FEWEST_SIZES: Final = 2
EXPLAINED_SHARE: Final = 0.8  # of the sizes must make sense at the other scale, and at most a quarter as they are
MEANINGLESS_SHARE: Final = 0.25


def evident_unit_system(lengths_mm: Iterable[float], otherwise: UnitSystem = "mm") -> UnitSystem:
    """Return the system in which the lengths are round numbers.

    Each distinct length counts for the coarsest step it is a multiple of: as many bits as such a hit is unlikely by
    chance. A whole millimetre so outweighs a thousandth of an inch.

    Parameters
    ----------
    lengths_mm : diameters, depths, sizes of one body; those of 0 or less are passed over
    otherwise : the answer where the lengths do not tell

    Examples
    --------
    >>> evident_unit_system([6.6, 12.0, 80.0]), evident_unit_system([6.35, 5.1054, 76.2])
    ('mm', 'inch')
    """
    lengths = {round(length_mm, 4) for length_mm in lengths_mm if length_mm > 0.0}
    metric = sum(_bits(length_mm, _ROUND_MM) for length_mm in lengths)
    inch = sum(_bits(length_mm, _ROUND_IN_MM) for length_mm in lengths)
    if abs(metric - inch) <= CHANCE_BITS * len(lengths):
        return otherwise
    return "mm" if metric > inch else "inch"


@dataclass(frozen=True, slots=True)
class WrongScale:
    """The hole sizes make no sense as they are, and do when multiplied."""

    factor: float
    text: str
    explained: int  # sizes that are standard at the other scale
    sizes: int  # distinct sizes looked at


def suspected_scale(diameters_mm: Iterable[float]) -> WrongScale | None:
    """Return the mistake in units that the holes of a part suggest; None where they make sense as they are.

    Examples
    --------
    >>> suspected_scale([0.201, 0.25, 0.3125]).text
    'drawn in inches and read as millimetres'
    >>> suspected_scale([5.0, 6.6, 11.0]) is None
    True
    """
    sizes = sorted({round(diameter_mm, 4) for diameter_mm in diameters_mm})
    sensible = sum(_somebody_s_hole(size_mm) for size_mm in sizes)
    if len(sizes) < FEWEST_SIZES or sensible > MEANINGLESS_SHARE * len(sizes):
        return None
    found = [
        WrongScale(factor, text, sum(_fastener_s_hole(size_mm, factor, system) for size_mm in sizes), len(sizes))
        for text, factor, system in WRONG_SCALES
    ]
    best = max(found, key=lambda each: each.explained)
    return best if best.explained >= EXPLAINED_SHARE * len(sizes) else None


@lru_cache(maxsize=4096)  # the same sizes are asked about again for every change that `what_if` tries
def _bits(length_mm: float, steps_mm: tuple[float, ...]) -> float:
    """Return how unlikely it is by chance that a length is a multiple of the coarsest step, of steps from the coarsest.

    So many steps are tried that a hit of one of them is worth less by log2 of their number.
    """
    for step_mm in steps_mm:
        off_mm = abs(length_mm - round(length_mm / step_mm) * step_mm)
        if off_mm <= SAME_LENGTH_MM and length_mm >= step_mm * 0.5:
            return max(0.0, log2(step_mm / (2.0 * SAME_LENGTH_MM) / len(steps_mm)))
    return 0.0


def _somebody_s_hole(size_mm: float) -> bool:
    """Return True for a size that somebody may have chosen for a hole as it is: a fastener's, or exactly a drill's."""
    if not SMALLEST_HOLE_MM <= size_mm <= LARGEST_HOLE_MM:
        return False
    return any(
        abs(hole.diameter_mm - size_mm) <= (SAME_LENGTH_MM if hole.use == "drill" else STANDARD_SIZE_MM)
        for hole in holes_near(size_mm)
        if hole.use not in ("thread_minor", "thread_major")
    )


def _fastener_s_hole(size_mm: float, factor: float, system: UnitSystem) -> bool:
    """Return True for a size that, multiplied, is a usual hole of that system, to the digits of either unit."""
    near_mm = STANDARD_SIZE_MM * min(1.0, factor)
    return any(
        abs(hole.diameter_mm - size_mm * factor) <= near_mm
        for hole in holes_near(size_mm * factor)
        if hole.system == system and hole.use in ("clearance", "tap_drill", "dowel") and hole.demerit < RARE
    )
