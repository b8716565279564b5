"""What an end mill clears out: pockets, slots and steps, which share depth, corner radius and floor radius.

Only what the plan cuts from the direction it was recognised from: a step that runs along the whole part is milled from
above or from the side, and its length is then no depth, its fillet no corner to go round.
"""

from typing import Final

import numpy as np

from analyzers.features.pocket import Pocket
from analyzers.features.slot import Slot
from analyzers.features.step import Step
from analyzers.model.feature import Feature
from analyzers.rules._base import Case, once

Cavity = Pocket | Slot | Step

ALONG_COS: Final = 0.5
"""Directions nearer than 60 degrees, or 60 to the opposite one, are along one another: others are square to it."""


@once
def cavities(case: Case) -> tuple[Cavity, ...]:
    """Return pockets, slots and steps that are cut along their depth, in the order of the report."""
    return tuple(
        each for each in case.facts.features if isinstance(each, Pocket | Slot | Step) and cut_along(case, each)
    )


def wide_cavities(case: Case) -> tuple[Pocket | Step, ...]:
    """Return pockets and steps of these: what is wider than its cutter, so that the cutter turns in the corners."""
    return tuple(each for each in cavities(case) if isinstance(each, Pocket | Step))


def cut_along(case: Case, feature: Feature) -> bool:
    """Return whether the plan cuts a feature along its own direction; true where no setup has it."""
    mine = [each for each in case.plan.setups if feature.id in each.features]
    ways = [way for each in mine for way in (each.direction, *each.indexed)]
    own = np.array(feature.direction)
    return not ways or any(abs(float(own @ np.array(way))) > ALONG_COS for way in ways)
