"""Turned part long for its diameter.

What: the length of a turned part against its largest diameter.
Why: a long thin bar springs away from the tool and whips; it comes out barrel-shaped unless its end is
supported.
Instead: a centre hole in the free end, a thicker bar, or a word that the mark of a steady rest may stay.
"""

from collections.abc import Iterator

import numpy as np

from analyzers.features.outer_round import OuterRound
from analyzers.model.feature import mm_text
from analyzers.model.finding import Finding
from analyzers.rules._base import Case, Limits
from analyzers.rules._units import drawn_down


def check(case: Case, limits: Limits) -> Iterator[Finding]:
    """Yield one finding for a body that is turned about a known axis."""
    made_by, rounds = case.facts.made_by, case.features(OuterRound)
    if made_by.process == "milled" or made_by.axis is None or not rounds:
        return
    length = float(np.ptp(case.facts.part.vertex_mm @ np.array(made_by.axis)))
    diameter = max(each.diameter_mm for each in rounds)
    ratio = length / diameter
    if limit := limits.strictest_broken(ratio, "centre", "chuck"):
        longest = drawn_down(case, limit.value * diameter)
        support = "a steady or a follow rest" if limits["centre"].broken_by(ratio) else "a centre in its free end"
        yield limits.finding(
            limit,
            on=rounds,
            measured=ratio,
            message=f"The part is {mm_text(round(length, 2))} mm long and at most ⌀{mm_text(diameter)}, "
            f"{ratio:.1f} diameters: it needs {support}.",
            suggestion=f"Allow a centre hole in the free end; up to {mm_text(longest)} mm of length it stands "
            f"{'in a centre alone' if limit.name == 'centre' else 'in the chuck alone'}.",
            marks=("whole part",),
        )
