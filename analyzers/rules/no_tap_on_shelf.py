"""Named thread that the shop has no tap for.

What: a hole for which the model names a thread, and no tap of the shelf cuts that thread to that depth.
Why: the tap is bought for this part, or the thread is milled; the minutes count it as tapped.
Instead: a thread that is on the shelf, or a tap in time.
"""

from collections.abc import Iterator

from analyzers.features.hole import Hole
from analyzers.model.feature import mm_text
from analyzers.model.finding import Finding
from analyzers.plan import tap_for, thread_depth_mm, thread_of
from analyzers.rules._base import Case, Limits, alike
from analyzers.rules._say import subject, verb


def check(case: Case, limits: Limits) -> Iterator[Finding]:
    """Yield one finding for each thread; the measured value is how much deeper the thread goes than the tap."""
    shop = case.settings.shop
    threaded = [(hole, thread) for hole in case.features(Hole) if (thread := thread_of(case.facts, hole)) is not None]
    for alikes in alike(threaded, key=lambda each: (each[1].designation, each[0].callout())):
        holes, thread = tuple(hole for hole, _ in alikes), alikes[0][1]
        tap, depth = tap_for(shop, thread), thread_depth_mm(holes[0]) or 0.0
        short = depth - (0.0 if tap is None else tap.reach_mm)
        if limits["short"].broken_by(short):
            have = f"the {tap.id} reaches {mm_text(tap.reach_mm)} mm" if tap else "no tap on the shelf cuts it"
            yield limits.finding(
                limits["short"],
                on=holes,
                measured=short,
                message=f"{subject(holes)} {verb(holes, 'is', 'are')} threaded {thread.designation}, "
                f"{mm_text(depth)} mm deep: {have}.",
                suggestion=f"Buy a tap {thread.designation} that reaches {mm_text(depth)} mm, or ask for a thread "
                "that is on the shelf.",
            )
