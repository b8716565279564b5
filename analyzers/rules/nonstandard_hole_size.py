"""Hole of no standard size.

What: a hole whose diameter is that of no drill, reamer, tap drill, dowel or clearance hole in the units the
part is drawn in.
Why: a drill of that size is not on any shelf; the hole is bored or interpolated, or the drill is ground for
it.
Instead: the nearest drill size, where no fit asks for the drawn one.
"""

from collections.abc import Iterator

from analyzers.data.hole_sizes import nearest_drill
from analyzers.features.hole import Hole
from analyzers.model.feature import mm_text
from analyzers.model.finding import Finding
from analyzers.rules._base import Case, Limits, alike
from analyzers.rules._say import subject, verb
from analyzers.rules._shelf import milled_round
from analyzers.rules._units import drawn_in, named_uses, uses_of


def check(case: Case, limits: Limits) -> Iterator[Finding]:
    """Yield one finding for each odd diameter; not where an end mill goes round, nor just beside a fastener's size."""
    units = drawn_in(case)
    for holes in alike(case.features(Hole), key=lambda hole: (hole.diameter_mm, *named_uses(case, hole))):
        hole = holes[0]
        use = uses_of(case, hole, units)[-1]
        if use.use != "none" or use.fastener or milled_round(case, holes):
            continue
        drill = nearest_drill(hole.diameter_mm, units)
        if limits["off"].broken_by(abs(drill.off_mm)):
            yield limits.finding(
                limits["off"],
                on=holes,
                measured=abs(drill.off_mm),
                basis=drill.standard,
                message=f"{subject(holes)} {verb(holes, 'has', 'have')} no standard size: "
                f"{mm_text(abs(drill.off_mm))} mm "
                f"{'above' if drill.off_mm > 0 else 'below'} the nearest, {drill.text}.",
                suggestion=f"⌀{mm_text(drill.diameter_mm)} ({drill.text}), unless a fit asks for "
                f"⌀{mm_text(hole.diameter_mm)}.",
                change=("diameter_mm", drill.diameter_mm),
            )
