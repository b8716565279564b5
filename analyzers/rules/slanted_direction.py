"""Feature that is cut from a slanted direction.

What: a clamping whose spindle stands neither square nor parallel to that of the first one, in a shop whose
mills do not tilt.
Why: on a three-axis mill the part has to lie on a sine bar or in a tilting vise, set by hand for this one
angle.
Instead: the feature square to a side, or a flat at that angle to lay the part on; or a shop whose machine
tilts.
"""

from collections.abc import Iterator

import numpy as np

from analyzers.model.arrays import Floats
from analyzers.model.finding import Finding
from analyzers.rules._base import Case, Limits, Way
from analyzers.rules._say import plural, verb

TILTING_AXES = 5


def check(case: Case, limits: Limits) -> Iterator[Finding]:
    """Yield one finding for all slanted clampings together."""
    mills = [each for each in case.settings.shop.machines if each.kind != "lathe"]
    if not case.plan.setups or any(each.axes >= TILTING_AXES or each.indexed for each in mills):
        return
    first = np.array(case.plan.setups[0].direction)
    off = {each.id: _off_square_deg(first, np.array(each.direction)) for each in case.plan.setups}
    slanted = [each for each in case.plan.setups if limits["tilt"].broken_by(off[each.id])]
    if slanted:
        ids = {feature for each in slanted for feature in each.features}
        on = tuple(each for each in case.facts.features if each.id in ids)
        low, high = min(off[each.id] for each in slanted), max(off[each.id] for each in slanted)
        angles = f"{high:.3g}°" if high - low <= limits["tilt"].value else f"{low:.3g}° to {high:.3g}°"
        what = f"the {len(on)} {plural('feature', len(on))}" if on else "what is cut there"
        yield limits.finding(
            limits["tilt"],
            on=on,
            measured=high,
            message=f"{len(slanted)} {plural('setup', len(slanted))} ({', '.join(each.id for each in slanted)}) "
            f"{verb(tuple(slanted), 'stands', 'stand')} {angles} off square; no mill of the shop tilts.",
            suggestion=f"Turn {what} by {angles} to stand square to a side.",
            change=Way("setup", case.plan.setups[0].id, was=", ".join(each.id for each in slanted)) if on else None,
            no_change="" if on else "what is cut there is no feature with a size of its own, but the outline itself",
        )


def _off_square_deg(first: Floats, other: Floats) -> float:
    """Return how far the angle between two directions is from the nearest of 0, 90 and 180 degrees."""
    angle = float(np.degrees(np.arccos(np.clip(first @ other, -1.0, 1.0))))
    return min(angle, abs(angle - 90.0), 180.0 - angle)
