"""Sheet sent for milling.

What: a flat thin body: nearly all its surface lies in two opposite sides, close to one another.
Why: sheet is cut by laser or water jet in a minute; milled, it has to be glued or sucked down and still
lifts.
Instead: a sheet cutter for the outline, the mill for what is left.
"""

from collections.abc import Iterator

from analyzers.model.feature import mm_text
from analyzers.model.finding import Finding
from analyzers.rules._base import Case, Limits
from analyzers.rules._flat import main_sides


def check(case: Case, limits: Limits) -> Iterator[Finding]:
    """Yield one finding for a body whose two main sides hold nearly all its surface."""
    part, sides = case.facts.part, main_sides(case.facts.part)
    if sides is None or part.area_mm2 <= 0.0 or limits["thickness"].broken_by(sides.apart_mm):
        return
    if limits["foil"].broken_by(sides.apart_mm):
        return
    share = sides.area_mm2 / part.area_mm2
    if limits["two_sides"].broken_by(share):
        yield limits.finding(
            limits["two_sides"],
            measured=share,
            message=f"A flat sheet of {mm_text(round(sides.apart_mm, 2))} mm: {share:.0%} of its surface are its "
            "two sides.",
            suggestion=f"Cut it from {mm_text(round(sides.apart_mm, 2))} mm sheet by laser or water jet; mill "
            "only what that leaves open.",
            marks=("whole part",),
        )
