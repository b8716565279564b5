"""Questions to the shop's shelf: which end mill goes into a corner, and how far down it comes."""

from collections.abc import Iterable

from analyzers.rules._base import Case
from analyzers.settings import Cutter
from analyzers.tolerance import LIMIT_SLACK

END_MILLS = ("flat", "bull", "ball")


def end_mills(case: Case) -> tuple[Cutter, ...]:
    """Return the shop's flat, bull-nose and ball-nose end mills, thinnest first; of equal ones flat and long first."""
    mills = [each for each in case.settings.shop.cutters if each.kind in END_MILLS]
    return tuple(sorted(mills, key=lambda each: (each.diameter_mm, END_MILLS.index(each.kind), -each.reach_mm)))


def fits(cutter: Cutter, radius_mm: float) -> bool:
    """Return True where the cutter goes into an inside corner of that radius; equal radii fit."""
    return cutter.diameter_mm / 2.0 <= radius_mm * (1.0 + LIMIT_SLACK)


def reaches(cutter: Cutter, depth_mm: float) -> bool:
    """Return True where the cutter's stick-out below its holder comes down that far."""
    return cutter.reach_mm >= depth_mm * (1.0 - LIMIT_SLACK)


def largest(cutters: Iterable[Cutter]) -> Cutter | None:
    """Return the thickest of the cutters; None where there is none."""
    return max(cutters, key=lambda each: each.diameter_mm, default=None)


def roll_radius_mm(case: Case, cutter: Cutter) -> float:
    """Return the smallest inside corner that the cutter rolls through at the shop's corner clearance."""
    return cutter.diameter_mm / 2.0 / case.settings.shop.corner_clearance_ratio


def corner_cutter(case: Case, depth_mm: float) -> Cutter | None:
    """Return the thinnest end mill that comes down to a depth; None where none does."""
    return next((each for each in end_mills(case) if reaches(each, depth_mm)), None)
