"""Gap narrower than any end mill on the shelf.

What: the least distance across air between two faces that look at one another, against the thinnest end mill
of the shop.
Why: what is to clear the gap must fit into it; below the thinnest end mill it is a saw, a wire or a spark.
Instead: a gap as wide as an end mill that also reaches down, or two parts joined.
"""

from collections.abc import Iterator

from analyzers.model.feature import mm_text
from analyzers.model.finding import Finding
from analyzers.rules._base import Case, Limits, Way
from analyzers.rules._say import cutter_text
from analyzers.rules._shelf import end_mills


def check(case: Case, limits: Limits) -> Iterator[Finding]:
    """Yield one finding for the narrowest gap of the body."""
    gap, mills = case.facts.measure("min_gap_mm"), end_mills(case)
    if gap is None or gap.value is None or not mills:
        return
    thinnest = mills[0]
    if limits["thinnest"].broken_by(gap.value / thinnest.diameter_mm):
        wanted = thinnest.diameter_mm * limits["thinnest"].value
        yield limits.finding(
            limits["thinnest"],
            on=tuple(each for each in case.facts.features if each.id == gap.feature),
            faces=gap.faces,
            measured=gap.value,
            against=wanted,
            unit="mm",
            message=f"The narrowest gap is {mm_text(gap.value)} mm; the thinnest cutter on the shelf, "
            f"{cutter_text(thinnest)}, does not go in.",
            suggestion=f"{mm_text(wanted)} mm or more between these faces, {mm_text(wanted - gap.value)} mm wider.",
            change=Way("gap_mm", wanted, was=gap.value),
        )
