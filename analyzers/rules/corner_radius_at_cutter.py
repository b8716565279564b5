"""Inside corner with just the radius of an end mill.

What: an inside corner whose radius is that of an end mill on the shelf, or so little above it that the cutter
does not roll.
Why: the cutter stops in the corner with a quarter of its girth in the material; it dwells, chatters and
leaves a mark. A little more radius, and the same cutter runs round the corner.
Instead: a radius a tenth above the cutter's; it costs nothing and saves the next thinner cutter.
"""

from collections.abc import Iterator

from analyzers.model.feature import mm_text
from analyzers.model.finding import Finding
from analyzers.rules._base import Case, Limits, alike
from analyzers.rules._cavities import wide_cavities
from analyzers.rules._say import cutter_text, noun, plural, round_up
from analyzers.rules._shelf import end_mills, fits, largest, reaches, roll_radius_mm


def check(case: Case, limits: Limits) -> Iterator[Finding]:
    """Yield one finding for each corner radius: pockets that share it are named together."""
    rounded = tuple(each for each in wide_cavities(case) if each.corner_radius_mm and each.depth_mm)
    for features in alike(rounded, key=lambda each: (each.corner_radius_mm,)):
        radius = features[0].corner_radius_mm or 0.0
        depth = max(each.depth_mm or 0.0 for each in features)
        cutter = largest(each for each in end_mills(case) if fits(each, radius) and reaches(each, depth))
        if cutter is None:
            continue
        rolls = roll_radius_mm(case, cutter)
        if limits["rolls"].broken_by(radius / rolls):
            many = (
                f"{len(features)} {plural('feature', len(features))} with" if len(features) > 1 else noun(features[0])
            )
            what = f"{many[0].upper()}{many[1:]} inside corners of R{mm_text(radius)}"
            yield limits.finding(
                limits["rolls"],
                on=features,
                measured=radius,
                against=rolls,
                unit="mm",
                basis=f"the shop file's corner_clearance_ratio {case.settings.shop.corner_clearance_ratio:g}",
                message=f"{what}: the {cutter_text(cutter)} stops dead in them instead of rolling round.",
                suggestion=f"R{mm_text(round_up(rolls))} for the same cutter; else the next thinner one does the "
                "corners.",
                change=("corner_radius_mm", round_up(rolls)),
            )
