"""In which units a model was evidently drawn, from which system makes its sizes round."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import log2
from typing import Final

from analyzers.data.hole_catalogue import standard_holes
from analyzers.tolerance import SAME_PLACE_MM, STANDARD_SIZE_MM
from analyzers.units import MM_PER_INCH, UnitSystem

_ROUND_MM: Final = (10.0, 5.0, 2.0, 1.0, 0.5, 0.25, 0.2, 0.1, 0.05)
_ROUND_IN: Final = (1.0, 1 / 2, 1 / 4, 1 / 8, 1 / 16, 1 / 32, 1 / 64, 0.1, 0.05, 0.01, 0.005, 0.001)
CHANCE_BITS: Final = 0.5
"""Lengths without any system differ by less than this per length: 0.002 mm in 0.0254 or 0.05 mm, times their bits."""
WRONG_SCALES: Final = {
    "drawn in inches and read as millimetres": MM_PER_INCH,
    "drawn in millimetres and read as inches": 1.0 / MM_PER_INCH,
    "drawn in centimetres and read as millimetres": 10.0,
    "drawn in metres and read as millimetres": 1000.0,
    "drawn in millimetres and read as metres": 1e-3,
}
"""The usual mistakes, and what the sizes would have to be multiplied by."""
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
    inch = sum(_bits(length_mm, [step * MM_PER_INCH for step in _ROUND_IN]) for length_mm in lengths)
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
    if len(sizes) < FEWEST_SIZES or _standard(sizes, 1.0) > MEANINGLESS_SHARE * len(sizes):
        return None
    found = [(text, factor, _standard(sizes, factor)) for text, factor in WRONG_SCALES.items()]
    text, factor, explained = max(found, key=lambda each: each[2])
    if explained < EXPLAINED_SHARE * len(sizes):
        return None
    return WrongScale(factor=factor, text=text, explained=explained, sizes=len(sizes))


def _bits(length_mm: float, steps_mm: Sequence[float]) -> float:
    """Return how unlikely it is by chance that a length is a multiple of the coarsest step that it is."""
    for step_mm in sorted(steps_mm, reverse=True):
        off_mm = abs(length_mm - round(length_mm / step_mm) * step_mm)
        if off_mm <= SAME_PLACE_MM and length_mm >= step_mm * 0.5:
            return log2(step_mm / (2.0 * SAME_PLACE_MM))
    return 0.0


def _standard(sizes_mm: Sequence[float], factor: float) -> int:
    """Return how many of the sizes, multiplied, are those of a fastener, a dowel or a round drill."""
    return sum(_sensible(size_mm * factor) for size_mm in sizes_mm)


def _sensible(size_mm: float) -> bool:
    """Return True for a size that somebody would choose for a hole."""
    if not SMALLEST_HOLE_MM <= size_mm <= LARGEST_HOLE_MM:
        return False
    chosen = ("clearance", "tap_drill", "dowel", "reamed", "pipe_tap_drill")
    near = STANDARD_SIZE_MM
    return any(hole.use in chosen and abs(hole.diameter_mm - size_mm) <= near for hole in standard_holes())
