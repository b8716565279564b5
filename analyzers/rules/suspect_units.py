"""Sizes that only make sense in another unit.

What: hole sizes that fit no standard as they stand, and nearly all do when multiplied by 25.4, 10 or 1000.
Why: a model drawn in inches and exported as millimetres is 25 times too small, and looks perfectly sound.
Instead: the unit of the export checked, one dimension named in words.
"""

from collections.abc import Iterator

from analyzers.data.unit_guess import suspected_scale
from analyzers.features.hole import Hole
from analyzers.model.feature import mm_text
from analyzers.model.finding import Finding
from analyzers.rules._base import Case, Limits, Way


def check(case: Case, limits: Limits) -> Iterator[Finding]:
    """Yield one finding for the whole body."""
    holes = case.features(Hole)
    wrong = suspected_scale([each.diameter_mm for each in holes])
    if wrong is not None and limits["explained"].broken_by(wrong.explained):
        longest = max(case.facts.part.size_mm)
        yield limits.finding(
            limits["explained"],
            on=holes,
            measured=wrong.explained,
            message=f"The holes make no sense as they are, and {wrong.explained} of {wrong.sizes} sizes do if the "
            f"part was {wrong.text}.",
            suggestion=f"Is the part {mm_text(round(longest, 2))} mm long, or "
            f"{mm_text(round(longest * wrong.factor, 1))} mm? "
            "Export it again in the right unit.",
            change=Way("scale", wrong.factor, (wrong.factor,), was=1.0),
            marks=("whole part",),
        )
