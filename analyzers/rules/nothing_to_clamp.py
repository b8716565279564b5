"""Nothing parallel to clamp on.

What: a clamping of a milled part for which no two opposed flats were found that the vise can hold.
Why: without them it takes soft jaws or a fixture, made for this part alone.
Instead: two parallel flats, high enough for the jaws; or stock left on as a foot and cut off last.
"""

from collections.abc import Iterator

from analyzers.model.feature import mm_text
from analyzers.model.finding import Finding
from analyzers.rules._base import Case, Limits
from analyzers.rules._say import plural


def check(case: Case, limits: Limits) -> Iterator[Finding]:
    """Yield one finding for all clampings without a hold; turned parts sit in a chuck and are left out."""
    if case.facts.made_by.process == "turned":
        return
    loose = [each for each in case.plan.setups if not each.vise_faces]
    if limits["loose"].broken_by(len(loose)):
        shop = case.settings.shop
        yield limits.finding(
            limits["loose"],
            measured=len(loose),
            message=f"In {len(loose)} of {len(case.plan.setups)} {plural('setup', len(case.plan.setups))} "
            f"({', '.join(each.id for each in loose)}) there are no two parallel flats for the vise.",
            suggestion=f"Two opposed flats at least {mm_text(shop.grip_mm)} mm high and no more than "
            f"{mm_text(shop.vise_opening_mm)} mm apart, or {mm_text(shop.grip_mm)} mm of stock left on as a foot, "
            "or a word where clamps may stand.",
            marks=(float(len(loose)),),
        )
