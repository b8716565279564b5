"""Inside corner with a radius smaller than any end mill on the shelf.

What: a pocket, slot or step whose upright inside corner has a radius below that of the thinnest end mill of
the shop.
Why: no cutter goes into that corner; it stays rounder than drawn.
Instead: a radius that a cutter of the shelf rolls through; or a special cutter is bought for this part.
"""

from collections.abc import Iterator

from analyzers.model.feature import mm_text
from analyzers.model.finding import Finding
from analyzers.rules._base import Case, Limits, Way, alike
from analyzers.rules._cavities import cavities
from analyzers.rules._say import cutter_text, subject, verb
from analyzers.rules._shelf import corner_stops_mm, end_mills, roll_radius_mm
from analyzers.rules._units import drawn_down, drawn_up


def check(case: Case, limits: Limits) -> Iterator[Finding]:
    """Yield one finding for each set of equal features whose corners are too tight for the shelf."""
    mills = end_mills(case)
    rounded = tuple(each for each in cavities(case) if each.corner_radius_mm)
    for features in alike(rounded, key=lambda each: (each.kind, each.callout(), each.corner_radius_mm)):
        radius = features[0].corner_radius_mm or 0.0
        if not mills or not limits["thinnest"].broken_by(radius / (mills[0].diameter_mm / 2.0)):
            continue
        wanted = drawn_up(case, roll_radius_mm(case, mills[0]))
        special = drawn_down(case, 2.0 * radius * case.settings.shop.corner_clearance_ratio)
        buy = f", or buy an end mill of ⌀{mm_text(special)} for it" if special > 0 else ""
        yield limits.finding(
            limits["thinnest"],
            on=features,
            measured=radius,
            against=mills[0].diameter_mm / 2.0,
            unit="mm",
            message=f"{subject(features)} {verb(features, 'has', 'have')} inside corners of R{mm_text(radius)}; "
            f"the thinnest cutter on the shelf, {cutter_text(mills[0])}, leaves "
            f"R{mm_text(mills[0].diameter_mm / 2.0)}.",
            suggestion=f"Corner radius R{mm_text(wanted)} or more{buy}.",
            change=Way("corner_radius_mm", wanted, corner_stops_mm(case, features[0].depth_mm or 0.0, wanted)),
        )
