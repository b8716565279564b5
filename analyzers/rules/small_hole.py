"""Very small hole.

What: a hole below the diameter that a general shop drills without a second thought.
Why: such drills break at a touch, want high speed and tiny feeds, and hold up the machine for minutes each.
Instead: a larger hole over most of the depth with the small one at its end only, or a drill size that
survives.
"""

from collections.abc import Iterator

from analyzers.features.hole import Hole
from analyzers.model.feature import mm_text
from analyzers.model.finding import Finding
from analyzers.rules._base import Case, Limits, alike
from analyzers.rules._say import subject, verb


def check(case: Case, limits: Limits) -> Iterator[Finding]:
    """Yield one finding for each set of equal holes."""
    for holes in alike(case.features(Hole), key=lambda hole: (hole.kind, hole.callout())):
        diameter, least = holes[0].diameter_mm, limits["diameter"].value
        if limits["diameter"].broken_by(diameter):
            yield limits.finding(
                limits["diameter"],
                on=holes,
                measured=diameter,
                message=f"{subject(holes)} {verb(holes)} smaller than ⌀{mm_text(least)}: drills of that size "
                "break at a touch.",
                suggestion=f"⌀{mm_text(least)} or more, or a wider bore that leaves the last "
                f"{mm_text(2.0 * diameter)} mm to the small drill.",
                change=("diameter_mm", least),
            )
