"""Feature that no cutter of the shop makes.

What: a feature for which the plan found no cutter or no direction, and for which no other rule names the
reason.
Why: as modelled it stays in the part; somebody has to change the model, buy a cutter or send the part
elsewhere.
Instead: what the plan says stands in the way.
"""

import math
from collections.abc import Iterator

from analyzers.features.hole import Hole
from analyzers.features.pocket import Pocket
from analyzers.features.slot import Slot
from analyzers.features.step import Step
from analyzers.model.feature import Feature
from analyzers.model.finding import Finding
from analyzers.rules._base import Case, Limits, Way, alike
from analyzers.rules._say import subject, verb
from analyzers.rules._shelf import corner_stops_mm, end_mills, fits, reaches, width_stops_mm
from analyzers.tolerance import SMOOTH_DEG


def check(case: Case, limits: Limits) -> Iterator[Finding]:
    """Yield one finding for each reason; equal features that stay unmade for it are named together."""
    why = {each.feature: each.why for each in case.plan.unmade}
    if not limits["unmade"].broken_by(len(why)):
        return
    unmade = tuple(each for each in case.facts.features if each.id in why)
    for features in alike(unmade, key=lambda each: (each.kind, each.callout(), why[each.id])):
        reason = why[features[0].id].strip().rstrip(".")
        ways = (*_ways(case, features[0]), Way("count", 0.0, (0.0,), was=float(len(features))))
        yield limits.finding(
            limits["unmade"],
            on=features,
            measured=len(features),
            message=f"{subject(features)} {verb(features, 'stays', 'stay')} unmade: {reason}.",
            suggestion="Buy a cutter that makes it, give it a size or depth that one of the shop's makes, or leave "
            f"{verb(features, 'this feature', f'these {len(features)} features')} out "
            f"(cut from {_direction(features[0].direction)}).",
            change=ways[0],
            or_else=ways[1:],
        )


def _ways(case: Case, feature: Feature) -> Iterator[Way]:
    """Yield what may let a cutter of the shelf make the feature: a rounder corner, a wider or a shallower feature."""
    depth, width = getattr(feature, "depth_mm", None), getattr(feature, "width_mm", None)
    radius = getattr(feature, "corner_radius_mm", None)
    if isinstance(feature, Hole) and depth is not None:
        drills = [each for each in case.settings.shop.cutters if each.kind == "drill"]
        sizes = {each.diameter_mm for each in drills if reaches(each, depth)} - {feature.diameter_mm}
        if nearest := sorted(sizes, key=lambda size: (abs(size - feature.diameter_mm), size)):
            yield Way("diameter_mm", nearest[0], tuple(nearest))
        if 0.0 < (longest := max((each.reach_mm for each in drills), default=0.0)) < depth:
            yield Way("depth_mm", longest)
    elif depth is not None and width is not None and isinstance(feature, Pocket | Slot | Step):
        if radius is not None and (rounder := corner_stops_mm(case, depth, radius)[1:]):
            yield Way("corner_radius_mm", rounder[0], rounder)
        if wider_stops := [each for each in width_stops_mm(case, depth, width) if each > width]:
            yield Way("width_mm", wider_stops[0], tuple(wider_stops))
        going = [each.reach_mm for each in end_mills(case) if fits(each, width / 2.0)]
        if going and max(going) < depth:
            yield Way("depth_mm", max(going))


def _direction(direction: tuple[float, float, float]) -> str:
    """Return for example "+Z", or the vector where it follows no axis."""
    for name, value in zip("XYZ", direction, strict=True):
        if abs(value) >= math.cos(math.radians(SMOOTH_DEG)):
            return f"{'+' if value > 0 else '-'}{name}"
    return "(" + ", ".join(f"{value:.2f}" for value in direction) + ")"
