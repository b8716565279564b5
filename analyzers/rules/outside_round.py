"""Outside edge rounded where a chamfer would do.

What: rounded outside edges that no end mill leaves by itself when it goes round the outline.
Why: such a round wants a form cutter set exactly to height, or many fine passes of a ball-nose cutter; a
chamfer is one pass.
Instead: a chamfer, unless the hand or a seal touches the edge.
"""

import math
from collections.abc import Iterator

import numpy as np

from analyzers.features.edge_round import EdgeRound
from analyzers.model.feature import mm_text
from analyzers.model.finding import Finding
from analyzers.model.part import Surface
from analyzers.rules._base import Case, Limits
from analyzers.rules._say import plural
from analyzers.tolerance import SMOOTH_DEG


def check(case: Case, limits: Limits) -> Iterator[Finding]:
    """Yield one finding for all such rounds; turned parts are left out, a lathe rounds as easily as it chamfers."""
    if case.facts.made_by.process == "turned":
        return
    rounds = tuple(each for each in case.features(EdgeRound) if each.radius_mm and not _in_the_outline(case, each))
    if not limits["rounds"].broken_by(len(rounds)):
        return
    radii = sorted({round(each.radius_mm or 0.0, 3) for each in rounds})
    series = ", ".join(f"R{mm_text(each)}" for each in radii)
    legs = " or ".join(f"{mm_text(each)} × 45°" for each in radii[:3])
    yield limits.finding(
        limits["rounds"],
        on=rounds,
        measured=len(rounds),
        message=f"{len(rounds)} outside {plural('edge', len(rounds))} rounded with {series}: form cutters or many fine "
        "passes.",
        suggestion=f"A chamfer of {legs} where nothing rubs on the edge: one pass of a chamfer mill.",
    )


def _in_the_outline(case: Case, edge_round: EdgeRound) -> bool:
    """Return True where the round runs along the spindle of some setup, so that an end mill leaves it going round."""
    part, faces = case.facts.part, np.array(edge_round.faces, dtype=np.int64)
    if not (part.face_surface[faces] == Surface.CYLINDER).all():
        return False
    upright = math.cos(math.radians(SMOOTH_DEG))
    return any(
        bool((np.abs(part.face_axis[faces] @ np.array(each.direction)) >= upright).all()) for each in case.plan.setups
    )
