"""Groove deep for its width.

What: a ring groove whose depth is many times its width.
Why: a grooving insert is as wide as the groove and hangs out as far as it is deep; too slender it chatters
and snaps.
Instead: a wider groove, or a shallower one.
"""

from collections.abc import Iterator

from analyzers.features.groove import Groove
from analyzers.model.feature import mm_text
from analyzers.model.finding import Finding
from analyzers.rules._base import Case, Limits, Way, alike
from analyzers.rules._say import subject, verb
from analyzers.rules._units import drawn_down, drawn_up


def check(case: Case, limits: Limits) -> Iterator[Finding]:
    """Yield one finding for each set of equal grooves."""
    for grooves in alike(case.features(Groove), key=lambda each: (each.callout(), each.side)):
        depth, width = grooves[0].depth_mm, grooves[0].width_mm
        if limits["slender"].broken_by(depth / width):
            wider = drawn_up(case, depth / limits["slender"].value)
            yield limits.finding(
                limits["slender"],
                on=grooves,
                measured=depth / width,
                message=f"{subject(grooves)} {verb(grooves, 'is', 'are')} {depth / width:.1f} times as deep as wide; "
                f"an insert of {mm_text(width)} mm reaches {mm_text(limits['slender'].value * width)} mm.",
                suggestion=f"{mm_text(wider)} mm wide, or "
                f"{mm_text(drawn_down(case, limits['slender'].value * width))} mm deep.",
                change=Way("width_mm", wider),
                or_else=(Way("depth_mm", drawn_down(case, limits["slender"].value * width)),),
            )
