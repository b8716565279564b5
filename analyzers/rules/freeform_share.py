"""Large share of free-form surface.

What: the area of surfaces that follow no plane, cylinder, cone, sphere or torus, against the whole surface.
Why: such surfaces are cut line by line with a ball-nose cutter; they take most of the machine time and are
hard to measure.
Instead: planes and rounds wherever the shape is not needed, and a word on how fine the lines may stay.
"""

from collections.abc import Iterator

import numpy as np

from analyzers.features.region import Region
from analyzers.model.finding import Finding
from analyzers.rules._base import Case, Limits, Way


def check(case: Case, limits: Limits) -> Iterator[Finding]:
    """Yield one finding for the whole body."""
    free = np.array([each == "freeform" for each in case.facts.face_class], dtype=bool)
    part = case.facts.part
    area, whole = float(part.face_area_mm2[free].sum()), float(part.face_area_mm2.sum())
    if whole > 0.0 and (limit := limits.strictest_broken(area / whole)):
        enough = _enough(case, area - limits.to_aim_at(limit) * whole)
        yield limits.finding(
            limit,
            on=case.features(Region),
            faces=tuple(np.flatnonzero(free).tolist()),
            measured=area / whole,
            message=f"{area / whole:.0%} of the surface, {area / 100.0:.0f} cm², is free-form: cut line by line.",
            suggestion=f"Say which height of lines may stay (the shop cuts "
            f"{case.settings.shop.scallop_height_mm * 1000.0:.0f} µm), and make planes and rounds of what need "
            "not be free.",
            change=Way("freeform_faces", 0.0, (0.0,), was=float(sum(len(each.faces) for each in enough)), on=enough),
            marks=("whole part",),
        )


def _enough(case: Case, area_mm2: float) -> tuple[Region, ...]:
    """Return the fewest regions that have that area together, largest first."""
    areas = case.facts.part.face_area_mm2
    chosen: list[Region] = []
    for region in sorted(case.features(Region), key=lambda each: -float(areas[list(each.faces)].sum())):
        if area_mm2 <= 0.0:
            break
        chosen.append(region)
        area_mm2 -= float(areas[list(region.faces)].sum())
    return tuple(chosen)
