"""Hole that starts on a slope or a curve.

What: a hole whose entry face does not stand square to its axis.
Why: the drill touches with one lip, slides downhill and bends; the hole starts off its place, or the drill
breaks.
Instead: a spotface square to the hole, a hole square to the face, or a flat milled first.
"""

from collections.abc import Iterator

from analyzers.features.hole import Hole
from analyzers.model.feature import mm_text
from analyzers.model.finding import Finding
from analyzers.rules._base import Case, Limits, alike
from analyzers.rules._say import round_up, subject, verb

SPOTFACE_RATIO = 1.5  # diameter of the proposed flat over the drill's: room for a spotting cutter beside the lips


def check(case: Case, limits: Limits) -> Iterator[Finding]:
    """Yield one finding for each set of equal holes; a curve met square is the milder case."""
    oblique = tuple(hole for hole in case.features(Hole) if hole.entry != "flat")
    for holes in alike(oblique, key=lambda hole: (hole.kind, hole.callout(), hole.entry, hole.entry_angle_deg)):
        first = holes[0]
        flat = f"a flat or spotface of ⌀{mm_text(round_up(first.diameter_mm * SPOTFACE_RATIO, 0.5))} square to the hole"
        if limits["tilt"].broken_by(first.entry_angle_deg):
            where = "a curved face" if first.entry == "curved" else "a slope"
            yield limits.finding(
                limits["tilt"],
                on=holes,
                measured=first.entry_angle_deg,
                message=f"{subject(holes)} {verb(holes, 'starts', 'start')} on {where}, "
                f"{first.entry_angle_deg:.3g}° off square: "
                "the drill slides downhill before it bites.",
                suggestion=f"Draw {flat}, or turn the hole by {first.entry_angle_deg:.3g}° to stand square to the "
                "face.",
                change=("entry_angle_deg", 0.0),
            )
        elif first.entry == "curved" and limits["curved"].broken_by(1.0):
            yield limits.finding(
                limits["curved"],
                on=holes,
                measured=1.0,
                message=f"{subject(holes)} {verb(holes, 'starts', 'start')} on a curved face: it needs a spot or "
                "a flat first.",
                suggestion=f"Draw {flat}.",
            )
