"""Hole that ends in another opening.

What: a hole whose drill breaks out into a bore, a pocket or a slot before it is done.
Why: the drill cuts on one side only where it breaks through; it bends, grabs and leaves a burr that nobody
reaches.
Instead: crossing axes that meet square and in the middle, a small bore into a large one, and access for
deburring.
"""

from collections.abc import Iterator

from analyzers.features.hole import Hole
from analyzers.model.finding import Finding
from analyzers.rules._base import Case, Limits
from analyzers.rules._say import plural, subject, verb


def check(case: Case, limits: Limits) -> Iterator[Finding]:
    """Yield one finding for all holes that break out inside."""
    inside = tuple(hole for hole in case.features(Hole) if hole.bottom == "into_void")
    if limits["inside"].broken_by(len(inside)):
        yield limits.finding(
            limits["inside"],
            on=inside,
            measured=len(inside),
            message=f"{subject(inside)} {verb(inside, 'breaks', 'break')} out into another opening: "
            "the drill bends there and leaves a burr inside.",
            suggestion=f"Say whether the {len(inside)} inner {plural('rim', len(inside))} must be free of burrs; "
            "let the axes meet square.",
        )
