"""The whole plan: blank, setups, cutters, minutes on each machine; the one that makes most and costs least wins."""

from collections.abc import Iterator
from dataclasses import replace
from typing import Final

from analyzers.features.hole import Hole
from analyzers.features.slot import Slot
from analyzers.model.feature import Feature
from analyzers.model.plan import Plan, Unmade
from analyzers.model.report import Facts
from analyzers.plan.bench import Bench, Making, Operation
from analyzers.plan.closing import completed
from analyzers.plan.cutters import make
from analyzers.plan.directions import all_hidden
from analyzers.plan.frame import same_way
from analyzers.plan.holding import Hold
from analyzers.plan.layout import Layout, layout_for, takes
from analyzers.plan.minutes import cutter_uses, outside, setting_up_minutes, time_of
from analyzers.plan.setups import Approach, build_setups, clampings
from analyzers.plan.threading import tapping
from analyzers.settings import Machine, Settings, Shop

BROACHED: Final = "other material stands over all of it: no milling cutter comes in, a broach or a slotting tool does"
"""Of a keyway in a bore."""


def make_plan(facts: Facts, settings: Settings, layout: Layout | None = None, *, whole: bool = True) -> Plan:
    """Return how a shop could make a body: an estimate for sorting and quoting, not a work plan.

    Every machine of a fitting kind whose travels take the blank is tried; the one that leaves least unmade wins, then
    the one that costs least for the batch. Where none takes it, the roomiest is planned with, and `machine` is None.
    The same facts and settings give the same plan.

    Parameters
    ----------
    layout : of these facts in this shop, where it is known already; None = it is made here
    whole : False = without what only follows from it: stick-outs, what stays uncut, access, room on machines
    """
    layout = layout or layout_for(facts, settings)
    takers = layout.takers()
    tried = takers or layout.machines[-1:] or settings.shop.machines[:1]
    plans = [_plan(facts, settings, layout, each) for each in tried]
    best = min(plans, key=lambda plan: (len(plan[0].unmade), plan[1]))[0]
    best = completed(best, facts, settings, layout) if whole else best
    return best if takers else _without_machine(best)


def _plan(facts: Facts, settings: Settings, layout: Layout, machine: Machine) -> tuple[Plan, float]:
    """Return the plan with one main machine, and what a part costs with it."""
    shop = settings.shop
    groups = clampings(layout.approaches, machine)
    machines = [_machine_for(group, machine, layout, shop) for group in groups]
    setups, holds = build_setups(facts, groups, machines, shop, layout.blank, layout.held)
    done: list[tuple[str, Operation]] = []
    unmade: list[Unmade] = []
    unknown: list[str] = []
    unreached = frozenset(layout.coverage.unreached_faces)
    main = Bench.of(facts.part, settings, machine, layout.frame.axes, layout.turning)
    done += [(setups[0].id, each) for each in outside(facts, main, layout.blank, layout.loose_mm2)]
    for setup, group, used in zip(setups, groups, machines, strict=True):
        for approach in group:
            turning = layout.turning if approach.turned else None
            view = None if approach.turned else layout.view(approach.direction)
            around = view.around if view is not None else None
            below = layout.seen_from(-approach.direction)
            bench = Bench.of(facts.part, settings, used, layout.frame.axes, turning, around, below)
            for feature, making in _makings(facts, layout, bench, approach, unreached):
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


def _machine_for(group: list[Approach], machine: Machine, layout: Layout, shop: Shop) -> Machine:
    """Return the machine of one clamping: a lathe leaves what is not turned to the first mill."""
    if layout.turning is None or group[0].turned or machine.kind == "mill_turn":
        return machine
    mills = [each for each in shop.machines if each.kind in ("mill", "mill_turn")]
    taking = [each for each in mills if takes(each, layout.blank)]
    return next(iter(taking or mills), machine)


def _makings(
    facts: Facts, layout: Layout, bench: Bench, approach: Approach, unreached: frozenset[int]
) -> Iterator[tuple[Feature, Making]]:
    """Yield the features of a direction with how each is made, with what the directions say about it."""
    rates = bench.rates
    key = (rates.machine.id, rates.material.id, bench.turning is None, bench.from_below, *approach.direction.tolist())
    made = layout.made.setdefault(key, {})
    for feature in approach.features:
        if id(feature) not in made:
            made[id(feature)] = (feature, make(feature, bench, approach.direction))
        making = made[id(feature)][1]
        plain = not making.unmade and not making.unknown
        if isinstance(feature, Hole):
            tapped = tapping(facts, feature, bench) if plain else ()
            making = replace(making, operations=(*making.operations, *tapped)) if tapped else making
        elif plain and isinstance(feature, Slot) and all_hidden(layout.coverage, approach.direction, feature.faces):
            making = Making((), BROACHED)
        elif plain and not unreached.isdisjoint(feature.faces):
            making = Making(making.operations, "no straight direction reaches all of it")
        yield feature, making


def _turn_over(groups: list[list[Approach]]) -> int:
    """Return 1 where the part is turned over only to face the side it was held by, else 0."""
    first = groups[0][0].direction
    return 0 if any(bool(same_way(each.direction, -first)) for group in groups for each in group) else 1


def _assumptions(
    settings: Settings, layout: Layout, machine: Machine, holds: tuple[Hold, ...], turn_over: int
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
    if layout.left:
        said.append(
            f"On {len(layout.left)} faces a little is left that only more slanted setups reach: a ball-nose cutter or "
            "the file takes it."
        )
    if any(each.by == "fixture" for each in holds):
        said.append("Soft jaws or a fixture are made once for each setup that has no flats to clamp.")
    if material.kc1_n_mm2 is None:
        said.append(f"No cutting force is known for {material.name}: power and bending of the cutter are not limited.")
    return tuple(said)


def _not_timed(unknown: list[str]) -> tuple[str, ...]:
    """Return which features carry no minutes because a size of theirs could not be measured."""
    return (f"Without minutes, since a size could not be measured: {', '.join(unknown)}.",) if unknown else ()


def _without_machine(plan: Plan) -> Plan:
    """Return the plan with no machine named, since none of the right kind takes the blank."""
    return replace(
        plan,
        machine=None,
        assumptions=(
            *plan.assumptions,
            "No machine of the shop takes the blank: planned as if the roomiest one of the kind did.",
        ),
    )
