"""Floor radius that no cutter of the shelf leaves.

What: the radius between wall and floor of a pocket, slot or step, against the corner radii of the bull-nose
and ball-nose cutters that go in.
Why: without such a cutter the radius is stepped out with a smaller ball, line by line.
Instead: the radius of a cutter that is there; or none, a flat end mill leaves a sharp edge for nothing.
"""

from collections.abc import Iterator

from analyzers.features.step import Step
from analyzers.model.feature import mm_text
from analyzers.model.finding import Finding
from analyzers.rules._base import Case, Limits, alike
from analyzers.rules._cavities import Cavity, cavities
from analyzers.rules._say import subject, verb
from analyzers.rules._shelf import end_mills, fits


def check(case: Case, limits: Limits) -> Iterator[Finding]:
    """Yield one finding for each set of equal features; steps that run through are cut along their fillet as well."""
    rounded = tuple(
        each for each in cavities(case) if each.floor_radius_mm and not (isinstance(each, Step) and each.through)
    )
    for features in alike(rounded, key=lambda each: (each.kind, each.callout(), each.floor_radius_mm)):
        floor = features[0].floor_radius_mm or 0.0
        shelf = sorted({each.corner_radius_mm for each in end_mills(case) if fits(each, _room_mm(features[0]))})
        nearest = min(shelf, key=lambda radius: (abs(radius - floor), radius), default=None)
        if nearest is not None and limits["off"].broken_by(abs(nearest - floor)):
            yield limits.finding(
                limits["off"],
                on=features,
                measured=floor,
                against=nearest,
                message=f"{subject(features)} {verb(features, 'has', 'have')} R{mm_text(floor)} at the floor; no "
                "cutter on the shelf that goes in leaves it.",
                suggestion=f"R{mm_text(nearest)} at the floor: a cutter with that corner is there.",
                change=("floor_radius_mm", nearest),
            )


def _room_mm(feature: Cavity) -> float:
    """Return the largest cutter radius that the corners and the width of a feature let in."""
    corner = feature.corner_radius_mm or float("inf")
    return min(corner, feature.width_mm / 2.0 if feature.width_mm else float("inf"))
