"""Feature that no cutter of the shop makes.

What: a feature for which the plan found no cutter or no direction, and for which no other rule names the
reason.
Why: as modelled it stays in the part; somebody has to change the model, buy a cutter or send the part
elsewhere.
Instead: what the plan says stands in the way.
"""

import math
from collections.abc import Iterator

from analyzers.model.finding import Finding
from analyzers.rules._base import Case, Limits, alike
from analyzers.rules._say import subject, verb
from analyzers.tolerance import SMOOTH_DEG


def check(case: Case, limits: Limits) -> Iterator[Finding]:
    """Yield one finding for each reason; equal features that stay unmade for it are named together."""
    why = {each.feature: each.why for each in case.plan.unmade}
    if not limits["unmade"].broken_by(len(why)):
        return
    unmade = tuple(each for each in case.facts.features if each.id in why)
    for features in alike(unmade, key=lambda each: (each.kind, each.callout(), why[each.id])):
        reason = why[features[0].id].strip().rstrip(".")
        yield limits.finding(
            limits["unmade"],
            on=features,
            measured=len(features),
            message=f"{subject(features)} {verb(features, 'stays', 'stay')} unmade: {reason}.",
            suggestion="With what is missing there, or without "
            f"{verb(features, 'this feature', f'these {len(features)} features')} "
            f"(cut from {_direction(features[0].direction)}), nothing of it stays unmade.",
        )


def _direction(direction: tuple[float, float, float]) -> str:
    """Return for example "+Z", or the vector where it follows no axis."""
    for name, value in zip("XYZ", direction, strict=True):
        if abs(value) >= math.cos(math.radians(SMOOTH_DEG)):
            return f"{'+' if value > 0 else '-'}{name}"
    return "(" + ", ".join(f"{value:.2f}" for value in direction) + ")"
