"""Cutters for round holes: drill, spot drill, end mill for flat bottoms, counterbores and odd sizes, sink for cones."""

import math
from collections.abc import Iterator
from typing import Final

from analyzers.data.tolerances import general_deviation_mm
from analyzers.features.hole import CounterboreHole, CountersunkHole, Hole, Segment
from analyzers.model.feature import mm_text
from analyzers.plan.bench import BORING_BAR, Bench, Making, Operation, at_most, cutter_words, quickest
from analyzers.settings import Cutter, Shop
from analyzers.settings.shop import CutterKind
from analyzers.tolerance import SAME_LENGTH_MM

HELIX_RATIO: Final = 0.8
"""An end mill up to this share of the hole winds its way down and round (common practice, no source)."""

LARGEST_DRILL_MM: Final = 60.0
"""Beyond this nobody buys a drill: the hole is milled round or bored (common practice, no source)."""

POINT_SLACK_DEG: Final = 1.0
DRILL_POINTS_DEG: Final = (85.0, 145.0)
"""A cone at the bottom between these is what some drill leaves; the angle itself is the drawer's choice."""


def make_hole(hole: Hole, bench: Bench) -> Making:
    """Return how a hole is made, or why not."""
    depth = _deepest_mm(hole)
    if depth is None:
        return Making((), unknown="depth")
    operations: list[Operation] = []
    reasons: list[str] = []
    for step in (_bore(hole, depth, bench), *_widenings(hole, bench)):
        operations += step.operations
        reasons += [step.unmade] if step.unmade else []
    return Making(tuple(operations), "; ".join(reasons) or None)


def _deepest_mm(hole: Hole) -> float | None:
    """Return how far down the drilled diameter goes, counted from the entry."""
    if hole.segments:
        return sum(segment.depth_mm for segment in hole.segments)
    return hole.depth_mm


def size_slack_mm(diameter_mm: float) -> float:
    """Return by how much a drill may differ from a hole: what ISO 2768-1 class m allows a size without a tolerance."""
    return general_deviation_mm(diameter_mm, "m") or SAME_LENGTH_MM


def reach_in_hole_mm(diameter_mm: float, shop: Shop) -> float:
    """Return how far down the shop's drills and end mills come in a hole; 0 where none makes it."""
    drills = [each for each in shop.cutters if each.kind == "drill" and _near(each, diameter_mm)]
    winding = [
        each for each in shop.cutters if each.kind == "flat" and at_most(each.diameter_mm, HELIX_RATIO * diameter_mm)
    ]
    return max((each.reach_mm for each in (*drills, *winding)), default=0.0)


def _near(drill: Cutter, diameter_mm: float) -> bool:
    """Return whether a drill makes a hole of that size."""
    return abs(drill.diameter_mm - diameter_mm) <= size_slack_mm(diameter_mm)


def _bore(hole: Hole, depth: float, bench: Bench) -> Making:
    """Return the drilling of the smallest diameter, and the squaring of its bottom where it is flat or round."""
    spots = _spots(hole, bench)
    near = [each for each in bench.shelf("drill") if _near(each, hole.diameter_mm)]
    drills = [each for each in near if bench.comes_down(each, hole.id, depth)]
    if drills:
        drill = min(drills, key=lambda each: (abs(each.diameter_mm - hole.diameter_mm), each.reach_mm, each.id))
        drilled = Operation("drill", drill.id, bench.rates.drilling_minutes(drill, depth), hole.id)
        bottom = _bottom(hole, depth, bench)
        return Making((*spots, drilled, *bottom.operations), bottom.unmade)
    milled = _wind(hole, hole.diameter_mm, depth, bench)
    if milled is not None:
        return Making(milled)
    if hole.through and any(bench.comes_down(each, hole.id, depth / 2.0) for each in near):
        half = _bore(hole, depth / 2.0, bench)  # from both ends; the directions see to it that both are there
        return Making((*half.operations, *half.operations))
    if bench.turning is not None:
        return Making((_boring(hole, depth, bench),))
    return Making((), _no_drill(hole, near, depth, bench))


def _spots(hole: Hole, bench: Bench) -> tuple[Operation, ...]:
    """Return the spot drilling before the drill, with the quickest spot tool there is."""
    spot = quickest(bench.shelf("spot"), lambda each: bench.rates.drilling_minutes(each, 0.2 * hole.diameter_mm))
    return (Operation("spot", spot[0].id, spot[1], hole.id),) if spot else ()


def _bottom(hole: Hole, depth: float, bench: Bench) -> Making:
    """Return what makes a blind bottom that no drill leaves."""
    if hole.through or hole.bottom in ("through", "into_void"):
        return Making(())
    if hole.bottom == "conical":
        low, high = DRILL_POINTS_DEG
        angle = hole.point_angle_deg
        if angle is None or low - POINT_SLACK_DEG <= angle <= high + POINT_SLACK_DEG:
            return Making(())
        return Making((), f"no drill has a point of {angle:.4g}°")
    kind: CutterKind = "flat" if hole.bottom == "flat" else "ball"
    fitting = [
        each
        for each in bench.shelf(kind)
        if at_most(each.diameter_mm, hole.diameter_mm) and bench.comes_down(each, hole.id, depth)
    ]

    def minutes(cutter: Cutter) -> float:
        if cutter.kind == "ball" and cutter.diameter_mm < hole.diameter_mm - size_slack_mm(hole.diameter_mm):
            return bench.rates.surface_minutes(cutter, math.pi / 2.0 * hole.diameter_mm**2)  # half a ball
        return bench.rates.roughing_minutes(cutter, _round_mm3(hole.diameter_mm, cutter.diameter_mm), depth)

    found = quickest(fitting, minutes)
    if found is None:
        what = "flat" if kind == "flat" else "round"
        return Making(
            (),
            f"its {what} bottom {mm_text(depth)} mm down: no {kind} end mill up to ⌀{mm_text(hole.diameter_mm)} "
            "reaches; a drill point would do",
        )
    return Making((Operation("bore", found[0].id, found[1], hole.id),))


def _round_mm3(diameter_mm: float, height_mm: float) -> float:
    """Return the volume of a round."""
    return math.pi / 4.0 * diameter_mm**2 * height_mm


def _wind(hole: Hole, diameter: float, depth: float, bench: Bench) -> tuple[Operation, ...] | None:
    """Return the milling of a diameter in a helix; None where no end mill fits and reaches."""
    fitting = [
        each
        for each in bench.shelf("flat")
        if at_most(each.diameter_mm, HELIX_RATIO * diameter) and bench.comes_down(each, hole.id, depth)
    ]
    wall = math.pi * diameter * depth

    def minutes(cutter: Cutter) -> float:
        rough = bench.rates.roughing_minutes(cutter, _round_mm3(diameter, depth), depth)
        return rough + bench.rates.wall_minutes(cutter, wall, depth)

    found = quickest(fitting, minutes)
    return (Operation("bore", found[0].id, found[1], hole.id),) if found else None


def _boring(hole: Hole, depth: float, bench: Bench) -> Operation:
    """Return the boring of a hole on a lathe."""
    wall = math.pi * hole.diameter_mm * depth
    minutes = bench.rates.turning_minutes(_round_mm3(hole.diameter_mm, depth), wall, hole.diameter_mm)
    return Operation("turn", BORING_BAR, minutes, hole.id)


def _no_drill(hole: Hole, near: list[Cutter], depth: float, bench: Bench) -> str:
    """Return why nothing makes the hole, and what would."""
    size = f"⌀{mm_text(hole.diameter_mm)}"
    if near:
        longest = max(near, key=lambda each: each.reach_mm)
        return bench.kept_off_words(longest, hole.id, depth) or (
            f"{mm_text(depth)} mm deep, the {cutter_words(longest)} reaches {mm_text(longest.reach_mm)} mm: "
            f"a {size} drill with {mm_text(depth)} mm of reach, or a depth of {mm_text(longest.reach_mm)} mm"
            f"{bench.beside_words(hole.id)}"
        )
    if hole.diameter_mm > LARGEST_DRILL_MM:
        lacking = f"no end mill winds a {size} bore {mm_text(depth)} mm down"
        return f"{lacking}: one with {mm_text(depth)} mm of reach, or a boring head"
    reaching = [each for each in bench.shelf("drill") if at_most(depth, each.reach_mm)]
    nearest = min(reaching, key=lambda each: abs(each.diameter_mm - hole.diameter_mm), default=None)
    other = f", or ⌀{mm_text(nearest.diameter_mm)}, which the shelf has" if nearest else ""
    return (
        f"no drill of {size} on the shelf and no end mill that winds it {mm_text(depth)} mm down: "
        f"buy a {size} drill{other}"
    )


def _widenings(hole: Hole, bench: Bench) -> Iterator[Making]:
    """Yield what the wider parts of a hole take: counterbore, countersink, steps."""
    if isinstance(hole, CounterboreHole):
        yield _widen(hole, hole.counterbore_diameter_mm, hole.counterbore_depth_mm, bench)
    elif isinstance(hole, CountersunkHole):
        yield _sink(hole, hole.countersink_diameter_mm, hole.countersink_angle_deg, bench)
    else:
        yield from _steps(hole, bench)


def _steps(hole: Hole, bench: Bench) -> Iterator[Making]:
    """Yield one widening for each wider length of a stepped hole; below the narrowest they are cut from the far end."""
    lengths = hole.segments
    if not lengths:
        return
    narrowest = min(range(len(lengths)), key=lambda row: min(lengths[row].diameter_mm, lengths[row].end_diameter_mm))
    for row, segment in enumerate(lengths):
        way = lengths[: row + 1] if row <= narrowest or not hole.through else lengths[row:]
        below = sum(each.depth_mm for each in way)
        if segment.shape == "cone":
            yield _taper(hole, segment, below, bench)
        elif segment.diameter_mm > hole.diameter_mm + size_slack_mm(hole.diameter_mm):
            yield _widen(hole, segment.diameter_mm, below, bench)


def _widen(hole: Hole, diameter: float, depth: float, bench: Bench) -> Making:
    """Return the widening of a hole to a flat-bottomed bore."""
    milled = _wind(hole, diameter, depth, bench)
    if milled is not None:
        return Making(milled)
    plunged = [
        each
        for each in bench.shelf("flat")
        if abs(each.diameter_mm - diameter) <= size_slack_mm(diameter) and bench.comes_down(each, hole.id, depth)
    ]
    found = quickest(plunged, lambda each: bench.rates.roughing_minutes(each, _round_mm3(diameter, depth), depth))
    if found is not None:
        return Making((Operation("bore", found[0].id, found[1], hole.id),))
    if bench.turning is not None:
        return Making((_boring(hole, depth, bench),))
    return Making((), f"no end mill up to ⌀{mm_text(diameter)} reaches {mm_text(depth)} mm down for the wider bore")


def _sink(hole: Hole, diameter: float, angle_deg: float, bench: Bench) -> Making:
    """Return the countersinking with a tool of that angle; a wider cone than the tool is milled round."""
    depth = (diameter - hole.diameter_mm) / 2.0
    tools = [
        each
        for each in bench.shelf("chamfer", "spot")
        if each.point_angle_deg is not None and abs(each.point_angle_deg - angle_deg) <= POINT_SLACK_DEG
    ]
    found = quickest(
        tools,
        lambda each: bench.rates.path_minutes(each, math.pi * diameter) + bench.rates.drilling_minutes(each, depth),
    )
    if found is not None:
        return Making((Operation("sink", found[0].id, found[1], hole.id),))
    return _slope(hole, diameter, depth, bench, f"no countersink of {angle_deg:.4g}° on the shelf")


def _taper(hole: Hole, segment: Segment, below: float, bench: Bench) -> Making:
    """Return the making of a cone inside a hole."""
    if segment is hole.segments[0] and below <= segment.diameter_mm:
        drop = (segment.diameter_mm - segment.end_diameter_mm) / 2.0
        return _slope(hole, segment.diameter_mm, max(drop, segment.depth_mm), bench, "no cutter follows the taper")
    return _slope(hole, segment.diameter_mm, below, bench, "no cutter reaches the taper")


def _slope(hole: Hole, diameter: float, depth: float, bench: Bench, why: str) -> Making:
    """Return the milling of a cone in small steps with a ball-nose or flat end mill; boring on a lathe."""
    fitting = [
        each
        for each in bench.shelf("ball")
        if at_most(each.diameter_mm, HELIX_RATIO * hole.diameter_mm) and bench.comes_down(each, hole.id, depth)
    ]
    area = math.pi * diameter * max(depth, (diameter - hole.diameter_mm) / 2.0)
    found = quickest(fitting, lambda each: bench.rates.surface_minutes(each, area))
    if found is not None:
        return Making((Operation("surface", found[0].id, found[1], hole.id),))
    if bench.turning is not None:
        return Making((_boring(hole, depth, bench),))
    return Making((), f"{why}, and no ball-nose end mill fits into ⌀{mm_text(hole.diameter_mm)}")
