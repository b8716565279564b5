"""Floor thin under a pocket or slot.

What: the material left under a pocket or slot, against the least wall of the material and against the floor's
own span.
Why: a thin floor drums under the cutter, lifts off the table and comes out uneven; a wide one also bows when
it is unclamped.
Instead: a thicker floor, a shallower pocket, or an opening right through where the floor carries nothing.
"""

from collections.abc import Iterator

from analyzers.features.pocket import Pocket
from analyzers.features.slot import Slot
from analyzers.model.feature import mm_text
from analyzers.model.finding import Finding
from analyzers.rules._base import Case, Limit, Limits, alike
from analyzers.rules._say import subject, verb
from analyzers.rules._units import drawn_up

Floored = Pocket | Slot


def check(case: Case, limits: Limits) -> Iterator[Finding]:
    """Yield one finding for each set of equal features: the stricter of the two limits that their floors break."""
    floored = tuple(each for each in case.facts.features if isinstance(each, Pocket | Slot) and each.floor_thickness_mm)
    for features in alike(floored, key=lambda each: (each.kind, each.callout(), each.floor_thickness_mm)):
        thickness, least = features[0].floor_thickness_mm or 0.0, case.settings.material.min_wall_mm
        span = features[0].width_mm or 0.0
        if limits["material"].broken_by(thickness / least):
            yield _finding(case, limits["material"], limits, features, thickness, least * limits["material"].value)
        elif limits["span"].broken_by(span / thickness):
            yield _finding(case, limits["span"], limits, features, thickness, span / limits["span"].value)


def _finding(
    case: Case, limit: Limit, limits: Limits, on: tuple[Floored, ...], thickness: float, least: float
) -> Finding:
    wanted = drawn_up(case, least)
    by_material = limit.name == "material"
    reason = (
        f"in {case.settings.material.name} this shop wants {mm_text(least)} mm"
        if by_material
        else f"it spans {mm_text(on[0].width_mm)} mm, and a floor of that width drums below "
        f"{mm_text(round(least, 2))} mm"
    )
    return limits.finding(
        limit,
        on=on,
        measured=thickness,
        against=least,
        unit="mm",
        basis=case.settings.material.source if by_material else "",
        message=f"{subject(on)} {verb(on, 'leaves', 'leave each')} a floor of {mm_text(thickness)} mm; {reason}.",
        suggestion=f"{mm_text(wanted)} mm of floor: {mm_text(wanted - thickness)} mm less depth, or as much more "
        "stock.",
        change=("floor_thickness_mm", wanted),
    )
