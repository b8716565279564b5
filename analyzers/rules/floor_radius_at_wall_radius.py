"""Floor radius as large as the wall's corner radius.

What: the radius between wall and floor of a pocket reaches or passes the radius of its upright corners.
Why: an end mill whose own corner radius equals its radius is a ball-nose cutter: the flat floor is then made
in many fine passes.
Instead: a floor radius well below the corner radius, that of a bull-nose end mill on the shelf; or none,
which costs nothing.
"""

from collections.abc import Iterator

from analyzers.model.feature import mm_text
from analyzers.model.finding import Finding
from analyzers.rules._base import Case, Limits, alike
from analyzers.rules._cavities import wide_cavities
from analyzers.rules._say import cutter_text, subject, verb
from analyzers.rules._shelf import end_mills, fits, largest


def check(case: Case, limits: Limits) -> Iterator[Finding]:
    """Yield one finding for each set of equal pockets."""
    rounded = tuple(each for each in wide_cavities(case) if each.corner_radius_mm and each.floor_radius_mm)
    for features in alike(rounded, key=lambda each: (each.kind, each.callout(), each.floor_radius_mm)):
        wall, floor = features[0].corner_radius_mm or 0.0, features[0].floor_radius_mm or 0.0
        if not limits["floor_to_wall"].broken_by(floor / wall):
            continue
        bull = largest(
            each
            for each in end_mills(case)
            if each.kind == "bull"
            and fits(each, wall)
            and not limits["floor_to_wall"].broken_by(each.corner_radius_mm / wall)
        )
        wanted = bull.corner_radius_mm if bull else 0.0
        cure = f"Floor radius R{mm_text(wanted)} ({cutter_text(bull)})" if bull else "A sharp edge at the floor (R0)"
        yield limits.finding(
            limits["floor_to_wall"],
            on=features,
            measured=floor / wall,
            message=f"{subject(features)} {verb(features, 'has', 'have')} R{mm_text(floor)} at the floor and "
            f"R{mm_text(wall)} in the corners: that asks for a ball-nose cutter, and the floor for many fine passes.",
            suggestion=f"{cure} lets one end mill do walls and floor.",
            change=("floor_radius_mm", wanted),
        )
