"""Hole of a standard size that the shop has no drill for.

What: a hole of a standard size, for which the shelf holds no drill or reamer, and into which no end mill goes
to mill it round.
Why: the drill is bought for this part; it costs a day and its price.
Instead: a size that is on the shelf, where no fit keeps it.
"""

from collections.abc import Iterator

from analyzers.data.hole_sizes import plausible_uses
from analyzers.features.hole import Hole
from analyzers.model.feature import mm_text
from analyzers.model.finding import Finding
from analyzers.rules._base import Case, Limits, alike
from analyzers.rules._say import subject, verb
from analyzers.rules._shelf import drills_of, milled_round
from analyzers.rules._units import drawn_in


def check(case: Case, limits: Limits) -> Iterator[Finding]:
    """Yield one finding for each size; the suggestion names the nearest drill of the shelf."""
    shelf = sorted(each.diameter_mm for each in case.settings.shop.cutters if each.kind == "drill")
    units = drawn_in(case)
    for holes in alike(case.features(Hole), key=lambda hole: (hole.diameter_mm,)):
        hole = holes[0]
        if not shelf or drills_of(case, hole.diameter_mm, ("drill", "reamer")) or milled_round(case, holes):
            continue
        if plausible_uses(hole.diameter_mm, hole.depth_mm, hole.through, units)[-1].use == "none":
            continue
        nearest = min(shelf, key=lambda each: abs(each - hole.diameter_mm))
        if limits["off"].broken_by(abs(nearest - hole.diameter_mm)):
            yield limits.finding(
                limits["off"],
                on=holes,
                measured=abs(nearest - hole.diameter_mm),
                message=f"{subject(holes)} {verb(holes, 'wants', 'want')} a drill of ⌀{mm_text(hole.diameter_mm)} "
                "that is not "
                "on the shelf.",
                suggestion=f"⌀{mm_text(nearest)} is on the shelf; else a drill of ⌀{mm_text(hole.diameter_mm)} is "
                "bought.",
                change=("diameter_mm", nearest),
            )
