"""Rounding whose radius changes along its way.

What: fillets and outside rounds with a radius that varies.
Why: no cutter has two radii: a small ball-nose cutter goes over it line by line, and nobody can measure it
with a gauge.
Instead: one radius, the smallest that is needed.
"""

from collections.abc import Iterator

from analyzers.features.edge_round import EdgeRound
from analyzers.features.fillet import Fillet
from analyzers.model.feature import mm_text
from analyzers.model.finding import Finding
from analyzers.rules._base import Case, Limits
from analyzers.rules._say import plural


def check(case: Case, limits: Limits) -> Iterator[Finding]:
    """Yield one finding for all of them together."""
    varying = tuple(each for each in case.facts.features if isinstance(each, Fillet | EdgeRound) and each.variable)
    if limits["varying"].broken_by(len(varying)):
        radii = [each.radius_mm for each in varying if each.radius_mm is not None]
        least = f"R{mm_text(round(min(radii), 2))}" if radii else "one radius"
        yield limits.finding(
            limits["varying"],
            on=varying,
            measured=len(varying),
            message=f"{len(varying)} {plural('rounding', len(varying))} with a radius that changes along the way: "
            "cut line by line with a ball.",
            suggestion=f"{least} all along.",
        )
