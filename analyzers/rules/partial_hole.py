"""Hole that is not round all the way.

What: a hole of which part of the flank is missing, because it runs out through a side or into another
opening.
Why: the drill has metal on one side only and is pushed out to the other.
Instead: the hole moved inward by what is missing, or drawn as a slot that an end mill cuts.
"""

from collections.abc import Iterator

import numpy as np

from analyzers.features.hole import Hole, RoundHole
from analyzers.model.feature import mm_text
from analyzers.model.finding import Finding
from analyzers.model.part import Part, Surface
from analyzers.rules._base import Case, Limits, alike
from analyzers.rules._say import subject, verb
from analyzers.tolerance import SAME_PLACE_MM


def check(case: Case, limits: Limits) -> Iterator[Finding]:
    """Yield one finding for each set of equal holes; only holes that start square are judged."""
    square = {each.id: flank_share(case.facts.part, each) for each in case.features(RoundHole) if each.entry == "flat"}
    known = tuple(hole for hole in case.features(RoundHole) if square.get(hole.id) is not None)
    for holes in alike(known, key=lambda hole: (hole.callout(), round(square[hole.id] or 0.0, 2))):
        share = square[holes[0].id] or 0.0
        if limits["flank"].broken_by(share):
            yield limits.finding(
                limits["flank"],
                on=holes,
                measured=share,
                message=f"{subject(holes)} {verb(holes, 'has', 'have')} only {share:.0%} of the flank; the drill "
                "is pushed to the open side.",
                suggestion=f"Move {verb(holes, 'it', 'each')} inward until {limits['flank'].value:.0%} of the "
                f"⌀{mm_text(holes[0].diameter_mm)} flank stand in material, or draw a slot.",
            )


def flank_share(part: Part, hole: Hole) -> float | None:
    """Return how much of the full turn a hole's flank covers where it covers most, 0..1; None where it has no cylinder.

    A bore that crosses the hole leaves it whole elsewhere, and so does a gap right across it: neither counts.
    """
    faces = np.array(hole.faces, dtype=np.int64)
    same = np.abs(2.0 * part.face_radius_mm[faces] - hole.diameter_mm) <= SAME_PLACE_MM
    faces = faces[(part.face_surface[faces] == Surface.CYLINDER) & same]
    if not len(faces):
        return None
    axis = part.face_axis[faces[0]]
    turned = np.sign(part.face_axis[faces] @ axis)  # (N,) a face may run the other way along the same axis
    start = (part.face_origin_mm[faces] - part.face_origin_mm[faces[0]]) @ axis
    ends = np.sort(start[:, None] + turned[:, None] * part.face_along_mm[faces], axis=1)  # (N, 2)
    cuts = np.unique(ends)
    if np.ptp(cuts) <= SAME_PLACE_MM:
        return None
    between = (cuts[:-1] + cuts[1:]) / 2.0
    there = (ends[:, :1] <= between) & (between <= ends[:, 1:])  # (N, stations)
    return min(float((part.face_span_deg[faces] @ there).max()) / 360.0, 1.0)
