"""What an end mill clears out: pockets, slots and steps, which share depth, corner radius and floor radius."""

from analyzers.features.pocket import Pocket
from analyzers.features.slot import Slot
from analyzers.features.step import Step
from analyzers.rules._base import Case

Cavity = Pocket | Slot | Step


def cavities(case: Case) -> tuple[Cavity, ...]:
    """Return pockets, slots and steps, in the order of the report."""
    return tuple(each for each in case.facts.features if isinstance(each, Pocket | Slot | Step))


def wide_cavities(case: Case) -> tuple[Pocket | Step, ...]:
    """Return pockets and steps: what is wider than its cutter, so that the cutter turns in the corners."""
    return tuple(each for each in case.facts.features if isinstance(each, Pocket | Step))
