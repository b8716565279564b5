"""Nothing parallel to clamp on.

What: a clamping after the first for which neither two opposed flats for the vise nor a round for the chuck
was found.
Why: without them it takes soft jaws or a fixture, made for this part alone.
Instead: two parallel flats, high enough for the jaws; or stock left on as a foot and cut off last.
"""

from collections.abc import Iterator

from analyzers.model.feature import mm_text
from analyzers.model.finding import Finding
from analyzers.rules._base import Case, Limits, Way
from analyzers.rules._say import verb


def check(case: Case, limits: Limits) -> Iterator[Finding]:
    """Yield one finding for all clampings without a hold, the first left out: there the raw block is held."""
    later = case.plan.setups[1:]
    loose = [each for each in later if not each.vise_faces and each.grip_width_mm is None]
    if limits["loose"].broken_by(len(loose)):
        shop = case.settings.shop
        yield limits.finding(
            limits["loose"],
            measured=len(loose),
            message=f"When the part is turned over ({', '.join(each.id for each in loose)}) there "
            f"{verb(tuple(loose), 'is', 'is each time')} nothing for vise or chuck: no two parallel flats, no round.",
            suggestion=f"Two opposed flats at least {mm_text(shop.grip_mm)} mm high and no more than "
            f"{mm_text(shop.vise_opening_mm)} mm apart, or {mm_text(shop.grip_mm)} mm of stock left on as a foot, "
            "or a word where clamps may stand.",
            change=Way("grip_mm", shop.grip_mm, (shop.grip_mm,), was=0.0),
            marks=(float(len(loose)),),
        )
