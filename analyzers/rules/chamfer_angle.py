"""Chamfer of an angle that no chamfer mill of the shelf has.

What: the angle of chamfers against the points of the shop's chamfer mills and spot drills.
Why: without the cutter the slope is stepped out, or the part is tilted for it.
Instead: 45°, or the angle of a cutter that is there.
"""

from collections.abc import Iterator

from analyzers.features.chamfer import Chamfer
from analyzers.model.finding import Finding
from analyzers.rules._base import Case, Limits
from analyzers.rules._say import plural


def check(case: Case, limits: Limits) -> Iterator[Finding]:
    """Yield one finding for all angles; wide slopes are milled as faces, and a lathe turns any."""
    points = [each.point_angle_deg for each in case.settings.shop.cutters if each.kind in ("chamfer", "spot")]
    angles = sorted({angle for point in points if point for angle in (point / 2.0, 90.0 - point / 2.0)})
    if not angles or case.facts.made_by.process == "turned":
        return
    odd = tuple(
        each
        for each in case.features(Chamfer)
        if not limits["edge"].broken_by(each.width_mm) and limits["off"].broken_by(_off_deg(each, angles))
    )
    if odd:
        drawn = sorted({round(each.angle_deg, 2) for each in odd})
        wanted = sorted({_nearest(each, angles) for each in drawn})
        yield limits.finding(
            limits["off"],
            on=odd,
            measured=max(_off_deg(each, angles) for each in odd),
            message=f"{len(odd)} {plural('chamfer', len(odd))} of "
            f"{', '.join(f'{each:.4g}°' for each in drawn[:4])}; the "
            f"shelf has {' and '.join(f'{each:.4g}°' for each in angles)}.",
            suggestion=f"{' or '.join(f'{each:.4g}°' for each in wanted)} instead.",
        )


def _nearest(angle_deg: float, angles: list[float]) -> float:
    return min(angles, key=lambda each: abs(each - angle_deg))


def _off_deg(chamfer: Chamfer, angles: list[float]) -> float:
    """Return how far a chamfer's angle is from the nearest that the shelf has."""
    return abs(_nearest(chamfer.angle_deg, angles) - chamfer.angle_deg)
