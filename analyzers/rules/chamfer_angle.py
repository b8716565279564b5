"""Chamfer of an angle that no chamfer mill of the shelf has.

What: the angle of chamfers against the points of the shop's chamfer mills and spot drills.
Why: without the cutter the slope is stepped out, or the part is tilted for it.
Instead: 45°, or the angle of a cutter that is there.
"""

from collections.abc import Iterator

from analyzers.features.chamfer import Chamfer
from analyzers.model.feature import mm_text
from analyzers.model.finding import Finding
from analyzers.rules._base import Case, Limits, alike
from analyzers.rules._say import plural


def check(case: Case, limits: Limits) -> Iterator[Finding]:
    """Yield one finding for each angle; wide slopes are milled as faces, and a lathe turns any."""
    points = [each.point_angle_deg for each in case.settings.shop.cutters if each.kind in ("chamfer", "spot")]
    angles = sorted({angle for point in points if point for angle in (point / 2.0, 90.0 - point / 2.0)})
    if not angles or case.facts.made_by.process == "turned":
        return
    edges = tuple(each for each in case.features(Chamfer) if not limits["edge"].broken_by(each.width_mm))
    for chamfers in alike(edges, key=lambda each: (each.angle_deg,)):
        angle = chamfers[0].angle_deg
        nearest = min(angles, key=lambda each: abs(each - angle))
        if limits["off"].broken_by(abs(nearest - angle)):
            yield limits.finding(
                limits["off"],
                on=chamfers,
                measured=angle,
                against=nearest,
                message=f"{len(chamfers)} {plural('chamfer', len(chamfers))} of {angle:.4g}°; the shelf has "
                f"{' and '.join(f'{each:.4g}°' for each in angles)}.",
                suggestion=f"{mm_text(chamfers[0].width_mm)} × {nearest:.4g}°.",
                change=("angle_deg", nearest),
            )
