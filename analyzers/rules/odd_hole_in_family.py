"""One hole a little different from its family.

What: several equal holes, and one more of the same kind and direction whose diameter differs by a hair.
Why: one of a bolt circle at 5.05 where all others are 5.0 is a slip of the drawing far more often than a
wish.
Instead: all alike, or a word that the odd one is meant.
"""

from collections import Counter
from collections.abc import Iterator

from analyzers.features.hole import Hole
from analyzers.model.feature import mm_text
from analyzers.model.finding import Finding
from analyzers.rules._base import Case, Limits, Way, alike
from analyzers.rules._say import subject
from analyzers.tolerance import SAME_PLACE_MM


def check(case: Case, limits: Limits) -> Iterator[Finding]:
    """Yield one finding for each lone hole beside a family; families are of one kind, direction and bottom.

    The odd one of a row, grid or circle is `missing_twin`'s: its place says more than its size.
    """
    placed = {gap.instead for pattern in case.facts.patterns for gap in pattern.gaps}
    for family in alike(case.features(Hole), key=lambda hole: (hole.kind, *hole.direction, hole.through)):
        sizes = Counter(round(hole.diameter_mm, 3) for hole in family)
        common, count = sizes.most_common(1)[0]
        for hole in family:
            apart = abs(hole.diameter_mm - common)
            lone = sizes[round(hole.diameter_mm, 3)] == 1 and apart > SAME_PLACE_MM and hole.id not in placed
            if lone and not limits["family"].broken_by(count) and limits["apart"].broken_by(apart / common):
                yield limits.finding(
                    limits["apart"],
                    on=(hole,),
                    measured=apart / common,
                    message=f"{subject((hole,))} differs by {mm_text(apart)} mm from {count} others of "
                    f"⌀{mm_text(common)}.",
                    suggestion=f"⌀{mm_text(common)} like the others, if no difference is meant.",
                    change=Way("diameter_mm", common, (common,)),
                )
