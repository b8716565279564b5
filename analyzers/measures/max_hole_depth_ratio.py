"""Deepest hole for its diameter."""

from collections.abc import Iterator

from analyzers.features.hole import Hole
from analyzers.model.geometry import Geometry
from analyzers.model.measure import Measure
from analyzers.model.report import Facts


def measure(facts: Facts, geometry: Geometry) -> Iterator[Measure]:  # noqa: ARG001 - every measure is asked the same way
    """Yield the largest depth / diameter of the holes, of the drilled (smallest) diameter without the drill point."""
    holes = [each for each in facts.features if isinstance(each, Hole)]
    known = [(each.depth_ratio, each) for each in holes if each.depth_ratio is not None]
    if not known:
        why = "no hole's depth could be measured" if holes else "the body has no holes"
        yield Measure(name="max_hole_depth_ratio", value=None, applies=bool(holes), why_none=why)
        return
    ratio, hole = max(known, key=lambda each: each[0])
    yield Measure(
        name="max_hole_depth_ratio", value=ratio, point_mm=hole.position_mm, faces=hole.faces, feature=hole.id
    )
