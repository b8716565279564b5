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
from analyzers.rules._base import Case, Limits, Way, alike
from analyzers.rules._say import subject, verb
from analyzers.rules._units import coarsely_up

SPOTFACE_RATIO = 1.5  # diameter of the proposed flat over the drill's: room for a spotting cutter beside the lips


def check(case: Case, limits: Limits) -> Iterator[Finding]:
    """Yield one finding for each set of equal holes on a slope, and one for all that meet a curve square."""
    oblique = tuple(hole for hole in case.features(Hole) if hole.entry != "flat")
    tilted = tuple(hole for hole in oblique if limits["tilt"].broken_by(hole.entry_angle_deg))
    for holes in alike(tilted, key=lambda hole: (hole.kind, hole.callout(), hole.entry, hole.entry_angle_deg)):
        angle = holes[0].entry_angle_deg
        yield limits.finding(
            limits["tilt"],
            on=holes,
            measured=angle,
            message=f"{subject(holes)} {verb(holes, 'starts', 'start')} on "
            f"{'a curved face' if holes[0].entry == 'curved' else 'a slope'}, {angle:.3g}° off square: "
            "the drill slides downhill before it bites.",
            suggestion=f"Draw {_flat(case, holes)}, or turn the hole by {angle:.3g}° to stand square to the face.",
            change=Way("entry_angle_deg", 0.0, (0.0,)),
        )
    curved = tuple(hole for hole in oblique if hole.entry == "curved" and hole not in tilted)
    if limits["curved"].broken_by(len(curved)):
        yield limits.finding(
            limits["curved"],
            on=curved,
            measured=len(curved),
            message=f"{subject(curved)} {verb(curved, 'starts', 'start')} on a curved face: a spot or a flat "
            "comes first.",
            suggestion=f"Draw {_flat(case, curved)}.",
        )


def _flat(case: Case, holes: tuple[Hole, ...]) -> str:
    """Return the flat that the drill wants, for each of the sizes."""
    sizes = sorted({coarsely_up(case, hole.diameter_mm * SPOTFACE_RATIO) for hole in holes})
    return f"a flat or spotface of {' or '.join(f'⌀{mm_text(each)}' for each in sizes[:3])} square to the hole"
