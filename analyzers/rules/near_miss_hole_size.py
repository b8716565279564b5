"""Hole just beside a standard size.

What: a hole that misses the size of a clearance hole, tap drill or dowel by a few hundredths.
Why: it is probably meant to be that size, and was mistyped, scaled or rounded in another unit; as drawn it
costs an odd drill.
Instead: the standard size, or a word that the odd one is meant.
"""

from collections.abc import Iterator

from analyzers.features.hole import Hole
from analyzers.model.feature import mm_text
from analyzers.model.finding import Finding
from analyzers.rules._base import Case, Limits, alike
from analyzers.rules._say import subject, verb
from analyzers.rules._units import drawn_in, named_uses, uses_of


def check(case: Case, limits: Limits) -> Iterator[Finding]:
    """Yield one finding for each diameter that nearly fits a fastener and no drill."""
    units = drawn_in(case)
    for holes in alike(case.features(Hole), key=lambda hole: (hole.diameter_mm, hole.through, *named_uses(case, hole))):
        hole = holes[0]
        use = uses_of(case, hole, units)[-1]
        if use.use != "none" or not use.fastener or not limits["off"].broken_by(abs(use.off_mm)):
            continue
        yield limits.finding(
            limits["off"],
            on=holes,
            measured=abs(use.off_mm),
            basis=use.standard,
            message=f"{subject(holes)} {verb(holes)} of {use.text}.",
            suggestion=f"⌀{mm_text(use.diameter_mm)}, if that is what is meant.",
            change=("diameter_mm", use.diameter_mm),
        )
