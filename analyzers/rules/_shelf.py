"""Questions to the shop's shelf: which end mill goes into a corner, and how far down it comes."""

from collections.abc import Iterable

from analyzers.features.hole import Hole
from analyzers.features.pocket import Pocket
from analyzers.features.slot import Slot
from analyzers.features.step import Step
from analyzers.plan.bench import reach_in_gap_mm
from analyzers.plan.directions import milled_from_both_ends
from analyzers.rules._base import Case, once
from analyzers.rules._say import round_up
from analyzers.rules._units import grid_mm
from analyzers.settings import Cutter
from analyzers.tolerance import LIMIT_SLACK

END_MILLS = ("flat", "bull", "ball")

MILLED_ROUND_RATIO = 0.8
"""An end mill of up to this share of a hole's diameter can circle in it and clear its chips (judgement, no source)."""

SAME_DRILL_MM = 0.05
"""A drill within this of the drawn diameter makes the hole: drills cut larger than they are (judgement, no source)."""


@once
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


def cut_depth_mm(case: Case, cavity: Pocket | Slot | Step) -> float:
    """Return how deep a cavity is for the cutter: half of one that is cut from both ends; 0 = depth not measured."""
    depth = cavity.depth_mm or 0.0
    shop = case.settings.shop
    return depth / 2.0 if milled_from_both_ends(cavity, lambda gap: reach_in_gap_mm(shop, gap)) else depth


def roll_radius_mm(case: Case, cutter: Cutter) -> float:
    """Return the smallest inside corner that the cutter rolls through at the shop's corner clearance."""
    return cutter.diameter_mm / 2.0 / case.settings.shop.corner_clearance_ratio


def corner_stops_mm(case: Case, depth_mm: float, least_mm: float) -> tuple[float, ...]:
    """Return the corner radii from `least_mm` on that a cutter of the shelf rolls through at that depth, in order.

    Rounded up as a drawing in the part's units would say them.
    """
    step = grid_mm(case)
    radii = {radius for each, radius in _rolled_mm(case) if reaches(each, depth_mm)}
    return tuple(sorted(each for each in radii | {round_up(least_mm, step)} if each >= least_mm - LIMIT_SLACK))


@once
def _rolled_mm(case: Case) -> tuple[tuple[Cutter, float], ...]:
    """Return each end mill with the corner it rolls through, rounded up as `corner_stops_mm` does."""
    step = grid_mm(case)
    return tuple((each, round_up(roll_radius_mm(case, each), step)) for each in end_mills(case))


def width_stops_mm(case: Case, depth_mm: float, least_mm: float) -> tuple[float, ...]:
    """Return the diameters from `least_mm` on of the end mills that come down that far, smallest first."""
    going = {each.diameter_mm for each in end_mills(case) if reaches(each, depth_mm)}
    return tuple(sorted(each for each in going if each >= least_mm - LIMIT_SLACK))


def corner_cutter(case: Case, depth_mm: float) -> Cutter | None:
    """Return the thinnest end mill that comes down to a depth; None where none does."""
    return next((each for each in end_mills(case) if reaches(each, depth_mm)), None)


def drills_of(case: Case, diameter_mm: float, kinds: tuple[str, ...] = ("drill",)) -> tuple[Cutter, ...]:
    """Return the shop's drills (or other kinds) of a diameter."""
    return tuple(
        each
        for each in case.settings.shop.cutters
        if each.kind in kinds and abs(each.diameter_mm - diameter_mm) <= SAME_DRILL_MM
    )


def milled_round(case: Case, holes: Iterable[Hole]) -> bool:
    """Return True where an end mill goes into these equal holes with room to circle, and comes down."""
    sizes = [(each.diameter_mm, each.depth_mm or 0.0) for each in holes]
    widest, deepest = min(size for size, _ in sizes) * MILLED_ROUND_RATIO, max(depth for _, depth in sizes)
    return any(each.diameter_mm <= widest and reaches(each, deepest) for each in end_mills(case))
