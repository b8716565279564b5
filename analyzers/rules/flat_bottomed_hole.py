"""Blind hole drawn with a flat bottom.

What: a blind hole of a drilled size that ends flat instead of in the cone a drill leaves.
Why: after the drill a second tool must go down to square the bottom, often an end mill at the end of its
reach.
Instead: the drill's cone below the depth that is needed; the depth of the full diameter stays.
"""

import math
from collections.abc import Iterator

from analyzers.features.hole import CounterboreHole, RoundHole
from analyzers.model.feature import mm_text
from analyzers.model.finding import Finding
from analyzers.rules._base import Case, Limits
from analyzers.rules._say import subject, verb

POINT_DEG = 118.0  # of a general-purpose drill (table drill_points)


def check(case: Case, limits: Limits) -> Iterator[Finding]:
    """Yield one finding for all holes that are drilled, deep enough to be no recess, and flat below."""
    largest = max((each.diameter_mm for each in case.settings.shop.cutters if each.kind == "drill"), default=0.0)
    flat = tuple(
        hole
        for hole in case.features(RoundHole, CounterboreHole)
        if hole.bottom == "flat" and not hole.through and hole.depth_mm and hole.diameter_mm <= largest
    )
    drilled = tuple(hole for hole in flat if limits["drilled"].broken_by((hole.depth_mm or 0.0) / hole.diameter_mm))
    if drilled:
        tips = sorted({round(tip_mm(hole.diameter_mm), 2) for hole in drilled})
        yield limits.finding(
            limits["drilled"],
            on=drilled,
            measured=max((hole.depth_mm or 0.0) / hole.diameter_mm for hole in drilled),
            message=f"{subject(drilled)} {verb(drilled)} drawn with a flat bottom; a drill leaves a cone.",
            suggestion=f"Draw the {POINT_DEG:g}° cone, {' or '.join(mm_text(each) for each in tips[:4])} mm below "
            "the same full-diameter depth, or allow it in a note.",
        )


def tip_mm(diameter_mm: float) -> float:
    """Return the height of the cone that a drill leaves, d / (2 tan(angle/2)).

    Examples
    --------
    >>> round(tip_mm(10.0), 3)
    3.004
    """
    return diameter_mm / (2.0 * math.tan(math.radians(POINT_DEG / 2.0)))
