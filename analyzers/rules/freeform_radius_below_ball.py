"""Hollow of a free-form surface tighter than any ball-nose cutter.

What: the smallest inside radius of a free-form surface, against the smallest ball-nose cutter on the shelf.
Why: the ball does not go into a hollow tighter than itself; it bridges it and leaves material.
Instead: a wider hollow, or a smaller ball-nose cutter bought for this part.
"""

from collections.abc import Iterator

from analyzers.features.region import Region
from analyzers.model.feature import mm_text
from analyzers.model.finding import Finding
from analyzers.rules._base import Case, Limits, Way
from analyzers.rules._say import cutter_text, subject, verb
from analyzers.rules._shelf import end_mills


def check(case: Case, limits: Limits) -> Iterator[Finding]:
    """Yield one finding for all free-form regions that the smallest ball does not follow, with the tightest radius."""
    ball = next((each for each in end_mills(case) if each.kind == "ball"), None)
    if ball is None:
        return
    radius = ball.diameter_mm / 2.0
    tight = [
        (each.min_concave_radius_mm, each)
        for each in case.features(Region)
        if each.min_concave_radius_mm is not None and limits["ball"].broken_by(each.min_concave_radius_mm / radius)
    ]
    if tight:
        least, on = min(each for each, _ in tight), tuple(region for _, region in tight)
        yield limits.finding(
            limits["ball"],
            on=on,
            measured=least,
            against=radius,
            unit="mm",
            message=f"{subject(on)} {verb(on, 'has', 'have')} hollows of R{mm_text(round(least, 2))}; the "
            f"smallest ball on the shelf, {cutter_text(ball)}, leaves R{mm_text(radius)}.",
            suggestion=f"R{mm_text(radius)} or more in all hollows, or buy a ball-nose cutter of "
            f"⌀{mm_text(round(2.0 * least, 2))}.",
            change=Way("min_concave_radius_mm", radius, (radius,)),
        )
