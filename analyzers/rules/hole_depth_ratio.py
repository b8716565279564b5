"""Hole deeper than a drill of its diameter likes.

What: a round hole whose depth, in drilled diameters, passes the classes of drilling.
Why: beyond the flutes chips no longer clear: the drill pecks, wanders and breaks; from ten diameters on it is
a trade of its own.
Instead: a larger diameter, less depth, drilling from both sides, or a wider bore over the part of the length
that needs no fit.
"""

from collections.abc import Iterator

from analyzers.features.hole import Hole
from analyzers.model.feature import mm_text
from analyzers.model.finding import Finding
from analyzers.rules._base import Case, Limits, Way, alike
from analyzers.rules._say import subject, verb
from analyzers.rules._units import drawn_down, drawn_up


def check(case: Case, limits: Limits) -> Iterator[Finding]:
    """Yield one finding for each set of equal holes: the strictest limit that they pass."""
    measured = tuple(hole for hole in case.features(Hole) if hole.depth_mm is not None)
    for holes in alike(measured, key=lambda hole: (hole.diameter_mm, hole.depth_mm, hole.through, hole.kind)):
        depth = holes[0].depth_mm or 0.0  # those without were left out above
        diameter = holes[0].diameter_mm
        ratio = depth / diameter
        if limit := limits.strictest_broken(ratio):
            wider, through = drawn_up(case, depth / limit.value), holes[0].through
            both = " Drilled from both sides each half is fine." if through and ratio <= 2 * limit.value else ""
            less = f", or ↧{mm_text(drawn_down(case, diameter * limit.value))} at this diameter,"
            yield limits.finding(
                limit,
                on=holes,
                measured=ratio,
                message=f"{subject(holes)} {verb(holes)} {mm_text(depth)} mm deep, {ratio:.1f} diameters "
                f"({_class(limit.name)} from {limit.value:g}).",
                suggestion=f"⌀{mm_text(wider)} at this depth{'' if through else less} is {limit.value:g} "
                f"diameters.{both}",
                change=Way("diameter_mm", drawn_up(case, depth / limits.to_aim_at(limit))),
                or_else=()  # a through hole is as deep as the part is thick
                if through
                else (Way("depth_mm", drawn_down(case, diameter * limits.to_aim_at(limit))),),
            )


def _class(limit: str) -> str:
    return {"peck": "a peck cycle", "deep": "deep-hole drilling", "special": "gun drilling"}[limit]
