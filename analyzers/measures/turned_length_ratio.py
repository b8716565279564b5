"""How many diameters long a turned part is."""

from collections.abc import Iterator

import numpy as np

from analyzers.features.outer_round import OuterRound
from analyzers.model.geometry import Geometry
from analyzers.model.measure import Measure
from analyzers.model.report import Facts


def measure(facts: Facts, geometry: Geometry) -> Iterator[Measure]:  # noqa: ARG001 - every measure is asked the same way
    """Yield the length along the turning axis / the largest turned diameter.

    Located at that diameter. A body that is not turned has none.
    """
    rounds = [each for each in facts.features if isinstance(each, OuterRound)]
    axis = facts.made_by.axis
    if axis is None or not rounds or facts.made_by.process not in ("turned", "mill_turned"):
        why = "the body is not turned"
        yield Measure(name="turned_length_ratio", value=None, applies=False, why_none=why)
        return
    widest = max(rounds, key=lambda each: each.diameter_mm)
    points = np.concatenate([facts.part.vertex_mm, facts.part.mesh.point_mm])
    yield Measure(
        name="turned_length_ratio",
        value=float(np.ptp(points @ np.array(axis))) / widest.diameter_mm,
        point_mm=widest.position_mm,
        faces=widest.faces,
        feature=widest.id,
    )
