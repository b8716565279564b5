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
from analyzers.rules._base import Case, Limits
from analyzers.rules._say import subject, verb
from analyzers.rules._shelf import milled_round
from analyzers.tolerance import SAME_PLACE_MM


def check(case: Case, limits: Limits) -> Iterator[Finding]:
    """Yield one finding for all drilled holes with too little flank; those that start aslant or are milled are out."""
    part = case.facts.part
    drilled = (each for each in case.features(RoundHole) if each.entry == "flat" and not milled_round(case, (each,)))
    shares = [(share, hole) for hole in drilled if (share := flank_share(part, hole)) is not None]
    partial = sorted((each for each in shares if limits["flank"].broken_by(each[0])), key=lambda each: each[0])
    if partial:
        on = tuple(hole for _, hole in partial)
        yield limits.finding(
            limits["flank"],
            on=on,
            measured=partial[0][0],
            message=f"{subject(on)} {verb(on, 'is', 'are')} open along the side, ⌀{mm_text(on[0].diameter_mm)} down to "
            f"{partial[0][0]:.0%} of its turn; the drill is pushed out there.",
            suggestion=f"Move {verb(on, 'it', 'them')} inward until {limits['flank'].value:.0%} of the turn stand in "
            "material, or draw a slot.",
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
