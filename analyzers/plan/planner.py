"""The whole plan: directions, blank, machine, setups, cutters, minutes; the cheapest machine that makes most wins."""

from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from analyzers.features.hole import Hole
from analyzers.model.arrays import Floats
from analyzers.model.plan import Plan, Unmade
from analyzers.model.report import Facts
from analyzers.plan.bench import Bench, Making, Operation, at_most
from analyzers.plan.choice import choose
from analyzers.plan.cutters import make
from analyzers.plan.directions import Coverage, SideReach, cover
from analyzers.plan.frame import Frame, frame_of, same_way
from analyzers.plan.holding import Hold
from analyzers.plan.minutes import cutter_uses, outside, setting_up_minutes, time_of
from analyzers.plan.setups import Approach, approaches, build_setups, clampings
from analyzers.plan.stock import Blank, blank_for
from analyzers.settings import Machine, Settings, Shop

TURNED: Final = ("turned", "mill_turned")


@dataclass(frozen=True, slots=True)
class _Layout:
    """What does not depend on the machine."""

    frame: Frame
    coverage: Coverage
    approaches: tuple[Approach, ...]
    blank: Blank
    turning: Floats | None
    loose_mm2: float


def make_plan(facts: Facts, settings: Settings) -> Plan:
    """Return how a shop could make a body: an estimate for sorting and quoting, not a work plan.

    Every machine of a fitting kind whose travels take the blank is tried; the one that leaves least unmade wins, then
    the one that costs least for the batch. Where none takes it, the roomiest is planned with, and `machine` is None.
    The same facts and settings give the same plan.
    """
    layout = _layout(facts, settings)
    machines = _machines(layout, settings.shop)
    fitting = [each for each in machines if _takes(each, layout.blank)]
    plans = [_plan(facts, settings, layout, each) for each in fitting or machines[-1:]]
    best = min(plans, key=lambda plan: (len(plan[0].unmade), plan[1]))[0]
    if fitting:
        return best
    return _without_machine(best)


def _layout(facts: Facts, settings: Settings) -> _Layout:
    """Return directions, coverage and blank."""
    shop = settings.shop
    on_lathe = facts.made_by.process in TURNED and facts.made_by.axis is not None
    axis = np.array(facts.made_by.axis, dtype=float) if on_lathe else None
    if axis is not None and not any(each.kind in ("lathe", "mill_turn") for each in shop.machines):
        turning = None
    else:
        turning = axis
    frame = frame_of(facts.part, facts.made_by.axis if axis is not None else None)
    coverage = cover(facts, frame, side_reach(shop), turning)
    order = choose(facts.part, coverage, frame, axis)
    owned = np.zeros(facts.part.n_faces, dtype=bool)
    for each in facts.features:
        owned[list(each.faces)] = True
    loose = ~owned & ~frame.on_box(facts.part)
    return _Layout(
        frame=frame,
        coverage=coverage,
        approaches=approaches(facts, coverage, order, axis),
        blank=blank_for(facts.part, frame, shop, settings.material, axis),
        turning=turning,
        loose_mm2=float(facts.part.face_area_mm2[loose].sum()),
    )


def side_reach(shop: Shop) -> SideReach:
    """Return how tall a wall the shop's flat end mills cut in a gap of a width (None = in the open)."""
    flats = [each for each in shop.cutters if each.kind == "flat"]

    def tallest_mm(width_mm: float | None) -> float:
        fitting = [each.reach_mm for each in flats if width_mm is None or at_most(each.diameter_mm, width_mm)]
        return max(fitting, default=0.0)

    return tallest_mm


def _machines(layout: _Layout, shop: Shop) -> list[Machine]:
    """Return the machines of a kind that can do the work, smallest room first."""
    kinds = ("lathe", "mill_turn") if layout.turning is not None else ("mill", "mill_turn")
    some = [each for each in shop.machines if each.kind in kinds] or list(shop.machines)
    return sorted(some, key=lambda each: (float(np.prod(each.travel_mm)), each.id))


def _takes(machine: Machine, blank: Blank) -> bool:
    """Return whether the blank fits the travels, laid as it fits best."""
    lengths = zip(sorted(blank.size_mm), sorted(machine.travel_mm), strict=True)
    return all(at_most(length, travel) for length, travel in lengths)


def _plan(facts: Facts, settings: Settings, layout: _Layout, machine: Machine) -> tuple[Plan, float]:
    """Return the plan with one main machine, and what a part costs with it."""
    shop = settings.shop
    groups = clampings(layout.approaches, machine)
    machines = [_machine_for(group, machine, layout, shop) for group in groups]
    setups, holds = build_setups(facts, groups, machines, shop)
    done: list[tuple[str, Operation]] = []
    unmade: list[Unmade] = []
    unknown: list[str] = []
    main = Bench.of(facts.part, settings, machine, layout.turning)
    done += [(setups[0].id, each) for each in outside(facts, main, layout.blank, layout.loose_mm2)]
    for setup, group, used in zip(setups, groups, machines, strict=True):
        for approach in group:
            turning = layout.turning if approach.turned and used.kind != "mill" else None
            bench = Bench.of(facts.part, settings, used, turning)
            for feature in approach.features:
                making = _made(facts, layout, bench, approach, feature.id)
                done += [(setup.id, each) for each in making.operations]
                unmade += [Unmade(feature=feature.id, why=making.unmade)] if making.unmade else []
                unknown += [f"{feature.id} ({making.unknown})"] if making.unknown else []
    uses = cutter_uses(done)
    turn_over = _turn_over(groups)
    loads = len(groups) + turn_over
    minutes, shares = time_of(facts, main, [each for _, each in done], len(uses), loads)
    setting_up = setting_up_minutes(holds, loads, shop)
    plan = Plan(
        machine=machine.id,
        stock_mm=layout.blank.size_mm,
        removed_mm3=max(layout.blank.volume_mm3 - facts.part.volume_mm3, 0.0),
        setups=setups,
        tools=uses,
        unmade=tuple(unmade),
        minutes=minutes,
        setup_minutes=setting_up,
        assumptions=(*_assumptions(settings, layout, machine, holds, turn_over), *_not_timed(unknown)),
        stock_form=layout.blank.form,
        stock_why=layout.blank.why,
        time_shares=shares,
        unreached_faces=layout.coverage.unreached_faces,
    )
    spent = minutes.likely + setting_up / settings.quantity
    return plan, spent * (machine.rate_per_hour or 1.0)


def _machine_for(group: list[Approach], machine: Machine, layout: _Layout, shop: Shop) -> Machine:
    """Return the machine of one clamping: a lathe leaves what is not turned to the first mill."""
    if layout.turning is None or group[0].turned or machine.kind == "mill_turn":
        return machine
    mills = [each for each in shop.machines if each.kind in ("mill", "mill_turn")]
    taking = [each for each in mills if _takes(each, layout.blank)]
    return next(iter(taking or mills), machine)


def _made(facts: Facts, layout: _Layout, bench: Bench, approach: Approach, feature_id: str) -> Making:
    """Return how a feature is made, with what the directions say about it."""
    feature = facts.feature(feature_id)
    making = make(feature, bench, approach.direction)
    hidden = set(feature.faces) & set(layout.coverage.unreached_faces)
    if hidden and not making.unmade and not making.unknown and not isinstance(feature, Hole):
        return Making(making.operations, "no straight direction reaches all of it")
    return making


def _turn_over(groups: list[list[Approach]]) -> int:
    """Return 1 where the part is turned over only to face the side it was held by, else 0."""
    first = groups[0][0].direction
    return 0 if any(bool(same_way(each.direction, -first)) for group in groups for each in group) else 1


def _assumptions(
    settings: Settings, layout: _Layout, machine: Machine, holds: tuple[Hold, ...], turn_over: int
) -> tuple[str, ...]:
    """Return what the plan takes for granted, in plain words."""
    shop, material = settings.shop, settings.material
    said = [
        "Estimate from the model alone, for sorting and quoting; the shop's own planning and safe practice decide.",
        f"Blank: {layout.blank.why}, {shop.stock_allowance_mm:g} mm to take off each side.",
        f"Cutting data of {material.name} as in the shop file ({material.source}), on {machine.name}.",
        "Minutes are those of one part; setting up is counted once for the batch of "
        f"{settings.quantity}: low and high are 0.6 and 1.7 times the cutting, 0.8 and 1.4 times the handling.",
    ]
    if turn_over:
        said.append(
            "The blank is squared first; turning it over to face the last side is in the minutes, not among the setups."
        )
    if layout.turning is not None:
        said.append("The lathe has a turning tool, a grooving tool and a boring bar: the shop file lists no inserts.")
    if any(each.by == "fixture" for each in holds):
        said.append("Soft jaws or a fixture are made once for each setup that has no flats to clamp.")
    if material.kc1_n_mm2 is None:
        said.append(f"No cutting force is known for {material.name}: power and bending of the cutter are not limited.")
    return tuple(said)


def _not_timed(unknown: list[str]) -> tuple[str, ...]:
    """Return which features carry no minutes because a size of theirs could not be measured."""
    return (f"Without minutes, since a size could not be measured: {', '.join(unknown)}.",) if unknown else ()


def _without_machine(plan: Plan) -> Plan:
    """Return the plan with no machine named, since the blank exceeds every travel."""
    return replace(
        plan,
        machine=None,
        assumptions=(*plan.assumptions, "No machine of the shop takes the blank: planned as if the roomiest did."),
    )
