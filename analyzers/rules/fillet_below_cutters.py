"""Fillet smaller than any cutter leaves.

What: an inside rounding with a radius below every corner radius on the shelf.
Why: no cutter makes it; a flat end mill leaves the edge sharp, any other leaves it rounder.
Instead: no fillet where the edge lies at a floor, or the smallest radius of the shelf.
"""

from collections.abc import Iterator

from analyzers.features.fillet import Fillet
from analyzers.model.feature import mm_text
from analyzers.model.finding import Finding
from analyzers.rules._base import Case, Limits, Way, alike
from analyzers.rules._say import plural
from analyzers.rules._shelf import end_mills


def check(case: Case, limits: Limits) -> Iterator[Finding]:
    """Yield one finding for each radius; the shelf's smallest is a bull nose's corner, a ball or a thin end mill."""
    if case.facts.made_by.process == "turned":
        return
    radii = [each.corner_radius_mm for each in end_mills(case) if each.corner_radius_mm > 0.0]
    least = min([*radii, *(each.diameter_mm / 2.0 for each in end_mills(case))], default=None)
    known = tuple(each for each in case.features(Fillet) if each.radius_mm is not None)
    for fillets in alike(known, key=lambda each: (each.radius_mm,)):
        radius = fillets[0].radius_mm or 0.0
        if least is not None and limits["least"].broken_by(radius / least):
            yield limits.finding(
                limits["least"],
                on=fillets,
                measured=radius,
                against=least,
                unit="mm",
                message=f"{len(fillets)} inside {plural('rounding', len(fillets))} of R{mm_text(radius)}; the "
                f"smallest radius on the shelf is R{mm_text(least)}.",
                suggestion=f"R{mm_text(least)}, or a sharp edge where it lies at a floor.",
                change=Way("radius_mm", least, tuple(sorted({each for each in radii if each >= least} | {least}))),
            )
