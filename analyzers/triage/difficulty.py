"""How hard a part is: points from a handful of drivers, added up and capped at 100.

Each driver is a ramp: no points up to where it starts to matter, its full weight from where it cannot get worse, a
straight line between. So no driver ever lowers the difficulty when its quantity grows. The weights and the ends of the
ramps are judgement: they say how much each thing is felt at the machine, and add up to more than 100 because no part is
bad in every way.

driver          quantity                                                from      full   points
unmade          features that no cutter of the shop makes               0         4      15 for the first, 35
machine         the blank fits no machine                               -         -      35
setups          directions, an indexed one counting half                1         6      20
depth           deepest hole, in diameters                              4         20     12
pockets         deepest pocket, in widest cutters of its corners        2         10     20
radii           1 / smallest inside radius                              1/3 mm    2/mm   8
walls           least wall of the material / thinnest wall              0.5       2      18
freeform        share of the surface                                    0         0.5    14
holding         setups without flats or round to hold                   0         3      10
corners         sharp inside corners no cutter leaves                   0         6      10
cutters         cutters in the magazine                                 6         20     8
features        features to make                                        12        120    8
time            minutes of one part, by ratio                           12        240    16
size            longest side of the blank                               300 mm    1500   6
remarks         findings of level warning                               0         8      8
model           not a sound, closed solid                               -         -      10
"""

import math
from collections.abc import Iterator, Sequence

import numpy as np

from analyzers.features.hole import Hole
from analyzers.features.pocket import Pocket
from analyzers.features.slot import Slot
from analyzers.model.feature import mm_text
from analyzers.model.finding import Finding
from analyzers.model.plan import Plan
from analyzers.model.report import Facts
from analyzers.model.triage import Driver
from analyzers.settings import Settings
from analyzers.tolerance import SAME_LENGTH_MM
from analyzers.units import duration_text

MOST = 100.0


def ramp(value: float, start: float, full: float, points: float) -> float:
    """Return no points up to `start`, all of them from `full`, and a straight line between.

    >>> ramp(4.0, 4.0, 20.0, 12.0), ramp(12.0, 4.0, 20.0, 12.0), ramp(99.0, 4.0, 20.0, 12.0)
    (0.0, 6.0, 12.0)
    """
    return points * min(max((value - start) / (full - start), 0.0), 1.0)


def drivers(facts: Facts, plan: Plan, findings: Sequence[Finding], settings: Settings) -> tuple[Driver, ...]:
    """Return the reasons for the difficulty with the points that each adds, largest first; none with no points."""
    found = [
        *_makeable(plan),
        *_access(facts, plan),
        *_shape(facts, settings),
        *_work(facts, plan),
        *_doubt(facts, findings),
    ]
    return tuple(sorted((each for each in found if each.points > 0.0), key=lambda each: (-each.points, each.name)))


def total(of: Sequence[Driver]) -> float:
    """Return 0..100: the drivers' points added up."""
    return min(math.fsum(each.points for each in of), MOST)


def _makeable(plan: Plan) -> Iterator[Driver]:
    """Yield what the shop's means do not make."""
    count = len(plan.unmade)
    if count:
        points = 15.0 + ramp(count, 1.0, 5.0, 20.0)
        what = "1 feature stays" if count == 1 else f"{count} features stay"
        yield Driver(name="unmade", points=points, why=f"{what} unmade with this shop's cutters")
    if plan.machine is None:
        size = " × ".join(mm_text(round(each, 1)) for each in sorted(plan.stock_mm, reverse=True))
        yield Driver(name="machine", points=35.0, why=f"no machine of the shop takes the blank of {size} mm")


def _access(facts: Facts, plan: Plan) -> Iterator[Driver]:
    """Yield what it takes to get at the part from all sides, and to hold it."""
    count = sum(1.0 + 0.5 * len(each.indexed) for each in plan.setups)
    yield Driver(name="setups", points=ramp(count, 1.0, 6.0, 20.0), why=_count(len(plan.setups), "setup"))
    loose = sum(1 for each in plan.setups if each.held_by == "fixture")
    yield Driver(
        name="holding", points=ramp(loose, 0.0, 3.0, 10.0), why=f"{_count(loose, 'setup')} with nothing to clamp on"
    )
    corners = facts.measure("sharp_internal_corners")
    sharp = (corners.value if corners is not None else None) or 0.0
    yield Driver(name="corners", points=ramp(sharp, 0.0, 6.0, 10.0), why=f"{_count(int(sharp), 'sharp inside corner')}")


def _shape(facts: Facts, settings: Settings) -> Iterator[Driver]:
    """Yield what makes cutting slow or delicate: depth, small radii, thin walls, free form, size."""
    depth = max((each.depth_ratio or 0.0 for each in facts.features if isinstance(each, Hole)), default=0.0)
    yield Driver(name="depth", points=ramp(depth, 4.0, 20.0, 12.0), why=f"a hole {_figures(depth)} diameters deep")
    pocket = max((_slenderness(each) for each in facts.features if isinstance(each, Pocket | Slot)), default=0.0)
    yield Driver(
        name="pockets", points=ramp(pocket, 2.0, 10.0, 20.0), why=f"a pocket {_figures(pocket)} cutter diameters deep"
    )
    radius = facts.measure("min_internal_radius_mm")
    if radius is not None and radius.value:
        why = f"inside radius of {mm_text(radius.value)} mm"
        yield Driver(name="radii", points=ramp(1.0 / radius.value, 1.0 / 3.0, 2.0, 8.0), why=why)
    wall = facts.measure("min_wall_mm")
    if wall is not None and wall.value:
        kind = next((each.kind for each in facts.walls if each.thickness_mm <= wall.value + SAME_LENGTH_MM), "wall")
        why = f"a {kind} of {mm_text(round(wall.value, 2) or wall.value)} mm"
        yield Driver(name="walls", points=ramp(settings.material.min_wall_mm / wall.value, 0.5, 2.0, 18.0), why=why)
    free = np.array([each == "freeform" for each in facts.face_class], dtype=bool)
    share = float(facts.part.face_area_mm2[free].sum() / facts.part.face_area_mm2.sum()) if free.any() else 0.0
    yield Driver(name="freeform", points=ramp(share, 0.0, 0.5, 14.0), why=f"{share:.0%} of the surface is freeform")


def _slenderness(cavity: Pocket | Slot) -> float:
    """Return how many diameters deep a pocket or slot is for the widest cutter that finishes it; 0 where unknown."""
    if not cavity.depth_mm:
        return 0.0
    widths = [cavity.width_mm or math.inf, 2.0 * cavity.corner_radius_mm if cavity.corner_radius_mm else math.inf]
    return cavity.depth_mm / min(widths)


def _work(facts: Facts, plan: Plan) -> Iterator[Driver]:
    """Yield how much there is to do."""
    cutters = len({each.cutter for each in plan.tools})
    yield Driver(name="cutters", points=ramp(cutters, 6.0, 20.0, 8.0), why=_count(cutters, "cutter"))
    count = len(facts.features)
    yield Driver(name="features", points=ramp(count, 12.0, 120.0, 8.0), why=_count(count, "feature"))
    minutes = plan.minutes.likely
    points = ramp(math.log(max(minutes, 1.0)), math.log(12.0), math.log(240.0), 16.0)
    yield Driver(name="time", points=points, why=f"about {duration_text(minutes)} of machine time a part")
    longest = max(plan.stock_mm)
    yield Driver(
        name="size", points=ramp(longest, 300.0, 1500.0, 6.0), why=f"a blank {mm_text(round(longest))} mm long"
    )


def _doubt(facts: Facts, findings: Sequence[Finding]) -> Iterator[Driver]:
    """Yield what has to be settled before anything is cut."""
    remarks = sum(1 for each in findings if each.level == "warning")
    yield Driver(name="remarks", points=ramp(remarks, 0.0, 8.0, 8.0), why=_count(remarks, "warning"))
    if not facts.part.closed or not facts.part.valid:
        what = "has open edges" if not facts.part.closed else "is not a sound solid"
        yield Driver(name="model", points=10.0, why=f"the model {what}")


def _figures(value: float) -> str:
    """Return one decimal, none where it is 0: what is deep need not be told closer."""
    return f"{round(value, 1):g}"


def _count(number: int, noun: str) -> str:
    """Return "1 setup", "3 setups"."""
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"
