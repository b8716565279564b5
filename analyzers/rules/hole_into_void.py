"""Hole that ends in another opening.

What: a hole whose drill breaks out into a bore, a pocket or a slot before it is done.
Why: the drill cuts on one side only where it breaks through; it bends, grabs and leaves a burr that nobody
reaches.
Instead: crossing axes that meet square and in the middle, a small bore into a large one, and access for
deburring.
"""

from collections.abc import Iterator

from analyzers.features.hole import Hole
from analyzers.model.feature import mm_text
from analyzers.model.finding import Finding
from analyzers.rules._base import Case, Limits, alike
from analyzers.rules._say import plural, subject, verb


def check(case: Case, limits: Limits) -> Iterator[Finding]:
    """Yield one finding for each set of equal holes that break out inside."""
    inside = tuple(hole for hole in case.features(Hole) if hole.bottom == "into_void")
    for holes in alike(inside, key=lambda hole: (hole.kind, hole.callout())):
        if limits["inside"].broken_by(len(holes)):
            yield limits.finding(
                limits["inside"],
                on=holes,
                measured=len(holes),
                message=f"{subject(holes)} {verb(holes, 'breaks', 'break')} out into another opening: "
                "the drill bends there and leaves a burr inside.",
                suggestion=f"Say whether the {len(holes)} inner {plural('rim', len(holes))} must be free of burrs; "
                f"let ⌀{mm_text(holes[0].diameter_mm)} meet the other bore's axis square.",
            )
