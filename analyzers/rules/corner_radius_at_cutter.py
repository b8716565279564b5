"""Inside corner with just the radius of an end mill.

What: an inside corner whose radius is that of an end mill on the shelf, or so little above it that the cutter
does not roll.
Why: the cutter stops in the corner with a quarter of its girth in the material; it dwells, chatters and
leaves a mark. A little more radius, and the same cutter runs round the corner.
Instead: a radius a tenth or two above the cutter's; it costs nothing and saves the next thinner cutter.
"""

from collections.abc import Iterator

from analyzers.model.feature import mm_text
from analyzers.model.finding import Finding
from analyzers.rules._base import Case, Limits, alike
from analyzers.rules._cavities import Cavity, wide_cavities
from analyzers.rules._say import cutter_text, subject, verb
from analyzers.rules._shelf import end_mills, fits, largest, reaches, roll_radius_mm
from analyzers.rules._units import drawn_up
from analyzers.settings import Cutter


def check(case: Case, limits: Limits) -> Iterator[Finding]:
    """Yield one finding for all such corners; each radius is named with its cutter, the closest fit is measured."""
    rounded = tuple(each for each in wide_cavities(case) if each.corner_radius_mm and each.depth_mm)
    tight: list[tuple[float, Cutter, tuple[Cavity, ...]]] = []
    for features in alike(rounded, key=lambda each: (each.corner_radius_mm,)):
        radius, depth = features[0].corner_radius_mm or 0.0, max(each.depth_mm or 0.0 for each in features)
        cutter = largest(each for each in end_mills(case) if fits(each, radius) and reaches(each, depth))
        if cutter is not None and limits["rolls"].broken_by(radius / (cutter.diameter_mm / 2.0)):
            tight.append((radius, cutter, features))
    if not tight:
        return
    tight.sort(key=lambda each: each[0])
    on = tuple(feature for _, _, features in tight for feature in features)
    wanted = [drawn_up(case, roll_radius_mm(case, cutter)) for _, cutter, _ in tight]
    pairs = ", ".join(f"R{mm_text(radius)} ({cutter_text(cutter)})" for radius, cutter, _ in tight)
    yield limits.finding(
        limits["rolls"],
        on=on,
        measured=min(radius / (cutter.diameter_mm / 2.0) for radius, cutter, _ in tight),
        marks=tuple(mark for radius, _, features in tight for mark in (features[0].kind, radius)),
        message=f"{subject(on)} {verb(on, 'has', 'have')} inside corners with just a cutter's radius, {pairs}: "
        "the cutter stops dead in them instead of rolling round.",
        suggestion=f"{', '.join(f'R{mm_text(each)}' for each in wanted)} for the same "
        f"{'cutter' if len(wanted) == 1 else 'cutters'}; else the next thinner one does the corners.",
        change=("corner_radius_mm", wanted[0]) if len(wanted) == 1 else None,
    )
