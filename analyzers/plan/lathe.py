"""Turning: outer rounds and grooves on a lathe, and what becomes of them where the shop has none."""

import math

import numpy as np

from analyzers.features.groove import Groove
from analyzers.features.outer_round import OuterRound
from analyzers.model.arrays import Floats
from analyzers.model.feature import mm_text
from analyzers.plan.bench import GROOVING_TOOL, TURNING_TOOL, Bench, Making, Operation, at_most, quickest
from analyzers.plan.frame import parallel


def make_outer_round(outer: OuterRound, bench: Bench, direction: Floats) -> Making:
    """Return the finishing of one diameter: turned on a lathe; on a mill with the cutter's side or in passes."""
    area = bench.area_mm2(outer.faces) or math.pi * outer.diameter_mm * outer.length_mm
    if bench.turning is not None:
        minutes = bench.rates.turning_minutes(0.0, area, outer.diameter_mm)
        return Making((Operation("turn", TURNING_TOOL, minutes, outer.id),))
    upright = bool(parallel(direction, np.array(outer.direction))) and outer.taper_deg == 0.0
    if upright:
        long = [each for each in bench.shelf("flat") if at_most(outer.length_mm, each.reach_mm)]
        found = quickest(long, lambda each: bench.rates.wall_minutes(each, area, outer.length_mm))
    else:
        found = quickest(bench.shelf("ball"), lambda each: bench.rates.surface_minutes(each, area))
    if found is None:
        return Making(
            (), f"no lathe in the shop and no end mill for ⌀{mm_text(outer.diameter_mm)} × {mm_text(outer.length_mm)}"
        )
    return Making((Operation("finish", found[0].id, found[1], outer.id),))


def make_groove(groove: Groove, bench: Bench) -> Making:
    """Return the cutting of a ring groove: turned on a lathe; on a mill a face groove is milled round."""
    volume = math.pi * groove.diameter_mm * groove.width_mm * groove.depth_mm
    area = bench.area_mm2(groove.faces) or math.pi * groove.diameter_mm * (groove.width_mm + 2.0 * groove.depth_mm)
    if bench.turning is not None:
        minutes = bench.rates.turning_minutes(volume, area, groove.diameter_mm)
        return Making((Operation("groove", GROOVING_TOOL, minutes, groove.id),))
    if groove.side == "face":
        fitting = [
            each
            for each in bench.shelf("flat")
            if at_most(each.diameter_mm, groove.width_mm) and at_most(groove.depth_mm, each.reach_mm)
        ]
        what = f"no end mill up to ⌀{mm_text(groove.width_mm)} reaches {mm_text(groove.depth_mm)} mm down"
    else:
        fitting = [
            each
            for each in bench.shelf("slot")
            if at_most(each.flute_length_mm, groove.width_mm)
            and at_most(groove.depth_mm, (each.diameter_mm - (each.neck_diameter_mm or each.diameter_mm)) / 2.0)
            and (groove.side == "outer" or at_most(each.diameter_mm, groove.diameter_mm - 2.0 * groove.depth_mm))
        ]
        what = f"no lathe in the shop and no slot cutter {mm_text(groove.width_mm)} mm wide for it"
    found = quickest(
        fitting,
        lambda each: (
            bench.rates.roughing_minutes(each, volume, groove.depth_mm)
            + bench.rates.wall_minutes(each, area, groove.depth_mm)
        ),
    )
    if found is None:
        return Making((), what)
    return Making((Operation("groove", found[0].id, found[1], groove.id),))
