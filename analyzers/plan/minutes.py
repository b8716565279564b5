"""From operations to minutes: what the outside costs, changes and handling, and how far off the sum may be."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from typing import Final

import numpy as np

from analyzers.features.groove import Groove
from analyzers.features.hole import Hole
from analyzers.features.pocket import Pocket
from analyzers.features.slot import Slot
from analyzers.model.facegraph import convex_edges
from analyzers.model.feature import Feature
from analyzers.model.plan import CutterUse, Minutes, TimeShare
from analyzers.model.report import Facts
from analyzers.plan.bench import TURNING_TOOL, Bench, Operation, quickest
from analyzers.plan.holding import Hold
from analyzers.plan.stock import Blank
from analyzers.settings import Cutter, Shop

CUTTING_SPAN: Final = (0.6, 1.7)
"""Low and high share of the cutting minutes: the windows of cutting speed in the table of materials are that wide."""

HANDLING_SPAN: Final = (0.8, 1.4)
"""Low and high share of loading, changing and deburring (judgement)."""

FACING_PASSES: Final = 2.0
"""The outside is faced once to clean up and once to size (common practice, no source)."""

FIXTURE_SETUPS: Final = 1.5
"""Soft jaws or a simple fixture take this many times the minutes of a setup (judgement)."""

SHARE_NAMES: Final = {
    "drill": "drilling",
    "spot": "drilling",
    "bore": "bores and counterbores",
    "sink": "countersinks",
    "tap": "tapping",
    "rough": "clearing",
    "finish": "finishing",
    "blend": "rounds",
    "chamfer": "chamfers",
    "surface": "freeform passes",
    "face": "outside",
    "turn": "turning",
    "groove": "grooves",
    "undercut": "undercuts",
}


def feature_mm3(feature: Feature) -> float:
    """Return about how much material a feature takes away; 0 for what takes next to none."""
    if isinstance(feature, Hole):
        return np.pi / 4.0 * feature.diameter_mm**2 * (feature.depth_mm or 0.0)
    if isinstance(feature, Pocket | Slot):
        width = feature.width_mm or 0.0
        if isinstance(feature, Slot) and feature.undercut_width_mm:  # exact for a dovetail, near enough for a T
            width = (width + feature.undercut_width_mm) / 2.0
        return (feature.length_mm or 0.0) * width * (feature.depth_mm or 0.0)
    if isinstance(feature, Groove):
        return np.pi * feature.diameter_mm * feature.width_mm * feature.depth_mm
    return 0.0


def outside(facts: Facts, bench: Bench, blank: Blank, loose_mm2: float) -> tuple[Operation, ...]:
    """Return the cutting of the blank to the part's outline: what no feature accounts for.

    On a mill: the blank is faced square on all sides, and what stands outside the features is cleared. On a lathe: the
    bar is turned to the outline and faced at both ends.

    Parameters
    ----------
    loose_mm2 : area of outer faces that are neither on the blank's box nor part of a feature
    """
    inside = sum(feature_mm3(each) for each in facts.features)
    if bench.turning is not None:
        rest = max(blank.volume_mm3 - facts.part.volume_mm3 - inside, 0.0)
        diameter = float(np.median(blank.size_mm))
        ends = np.pi / 4.0 * diameter**2 * 2.0
        return (Operation("turn", TURNING_TOOL, bench.rates.turning_minutes(rest, ends + loose_mm2, diameter)),)
    x, y, z = blank.squared_mm
    rest = max(x * y * z - facts.part.volume_mm3 - inside, 0.0)
    skin = 2.0 * (x * y + y * z + z * x)

    def cutting(cutter: Cutter) -> float:
        faced = FACING_PASSES * bench.rates.floor_minutes(cutter, skin) + bench.rates.floor_minutes(cutter, loose_mm2)
        return faced + bench.rates.roughing_minutes(cutter, rest, cutter.flute_length_mm)

    found = quickest(bench.shelf("flat", "bull"), cutting)
    return (Operation("face", found[0].id, found[1]),) if found else ()


def cutter_uses(operations: Iterable[tuple[str, Operation]]) -> tuple[CutterUse, ...]:
    """Return (setup, operation) pairs as one use for each cutter in each setup, in the order of first use."""
    minutes: dict[tuple[str, str], float] = defaultdict(float)
    features: dict[tuple[str, str], dict[str, None]] = defaultdict(dict)
    for setup, operation in operations:
        key = (setup, operation.cutter)
        minutes[key] += operation.minutes
        if operation.feature is not None:
            features[key][operation.feature] = None
    return tuple(
        CutterUse(cutter=cutter, setup=setup, features=tuple(features[setup, cutter]), minutes=spent)
        for (setup, cutter), spent in minutes.items()
    )


def time_of(
    facts: Facts, bench: Bench, operations: Sequence[Operation], uses: int, loads: int
) -> tuple[Minutes, tuple[TimeShare, ...]]:
    """Return the minutes of one part and where they go.

    Parameters
    ----------
    operations : everything that is cut
    uses : how often a cutter is put in, over all setups
    loads : how often the part is clamped
    """
    cutting: dict[str, float] = defaultdict(float)
    for each in operations:
        cutting[SHARE_NAMES[each.work]] += each.minutes
    handling = {
        "tool changes": uses * bench.rates.machine.tool_change_s / 60.0,
        "loading and unloading": loads * bench.shop.load_minutes,
        "deburring": sharp_length_mm(facts) / 1000.0 * bench.shop.deburr_minutes_per_m,
    }
    run, hand = sum(cutting.values()), sum(handling.values())
    (low_cut, high_cut), (low_hand, high_hand) = CUTTING_SPAN, HANDLING_SPAN
    minutes = Minutes(low=low_cut * run + low_hand * hand, likely=run + hand, high=high_cut * run + high_hand * hand)
    shares = [TimeShare(name=name, minutes=spent) for name, spent in (cutting | handling).items() if spent > 0.0]
    return minutes, tuple(sorted(shares, key=lambda share: -share.minutes))


def sharp_length_mm(facts: Facts) -> float:
    """Return the length of sharp outside edges: as measured, else that of all convex edges."""
    measured = facts.measure("external_sharp_edge_length_mm")
    if measured is not None and measured.value is not None:
        return measured.value
    return float(facts.part.edge_length_mm[convex_edges(facts.part)].sum())


def setting_up_minutes(holds: Sequence[Hold], loads: int, shop: Shop) -> float:
    """Return the minutes before the first part, once for the batch: each clamping, and each fixture made for it."""
    made = sum(1 for each in holds if each.by == "fixture")
    return shop.setup_minutes * (loads + FIXTURE_SETUPS * made)
