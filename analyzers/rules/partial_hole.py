"""Hole that is not round all the way.

What: a hole of which part of the flank is missing, because it runs out through a side or into another
opening.
Why: the drill has metal on one side only and is pushed out to the other.
Instead: the hole moved inward by what is missing, or drawn as a slot that an end mill cuts.
"""

import math
from collections.abc import Iterator

import numpy as np

from analyzers.features.hole import Hole, RoundHole
from analyzers.model.arrays import Floats
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
                message=f"{subject(holes)} {verb(holes, 'has', 'have')} only {share:.0%} of its flank; the drill "
                "is pushed "
                "to the open side.",
                suggestion=f"Move it inward until {limits['flank'].value:.0%} of the "
                f"⌀{mm_text(holes[0].diameter_mm)} flank "
                "stand in material, or draw a slot.",
            )


def flank_share(part: Part, hole: Hole) -> float | None:
    """Return how much of a hole's cylinder is there, 0..1; None where no cylinder of its diameter is known.

    Area of the hole's cylinder faces over 2 pi r times the length they cover along the axis.
    """
    faces = np.array(hole.faces, dtype=np.int64)
    same = np.abs(2.0 * part.face_radius_mm[faces] - hole.diameter_mm) <= SAME_PLACE_MM
    faces = faces[(part.face_surface[faces] == Surface.CYLINDER) & same]
    if not len(faces):
        return None
    axis = part.face_axis[faces[0]]
    turned = np.sign(part.face_axis[faces] @ axis)  # (N,) a face may run the other way along the same axis
    start = (part.face_origin_mm[faces] - part.face_origin_mm[faces[0]]) @ axis
    ends = start[:, None] + turned[:, None] * part.face_along_mm[faces]
    length = _covered_mm(ends)
    if length <= SAME_PLACE_MM:
        return None
    return float(part.face_area_mm2[faces].sum()) / (math.pi * hole.diameter_mm * length)


def _covered_mm(ends: Floats) -> float:
    """Return the length that (N, 2) stretches of one line cover together, without the gaps between them."""
    covered, reached = 0.0, -math.inf
    for low, high in sorted((min(pair), max(pair)) for pair in ends.tolist()):
        covered += max(high - max(low, reached), 0.0)
        reached = max(reached, high)
    return covered
