"""Deepest pocket for the cutter that its corners let in."""

from collections.abc import Iterator

from analyzers.features.pocket import Pocket
from analyzers.model.geometry import Geometry
from analyzers.model.measure import Measure
from analyzers.model.report import Facts


def measure(facts: Facts, geometry: Geometry) -> Iterator[Measure]:  # noqa: ARG001 - every measure is asked the same way
    """Yield the largest depth / (2 corner radius) of the pockets.

    It is the length-to-diameter ratio of the end mill that the corners let in, down to the floor. A pocket with a
    sharp corner, or with none, has no such ratio; sharp ones are counted by sharp_internal_corners.
    """
    pockets = [each for each in facts.features if isinstance(each, Pocket)]
    known = [(each.depth_ratio, each) for each in pockets if each.depth_ratio is not None]
    if not known:
        why = "no pocket has corners with a radius" if pockets else "the body has no pockets"
        yield Measure(name="max_pocket_depth_ratio", value=None, applies=False, why_none=why)
        return
    ratio, pocket = max(known, key=lambda each: each[0])
    yield Measure(
        name="max_pocket_depth_ratio", value=ratio, point_mm=pocket.position_mm, faces=pocket.faces, feature=pocket.id
    )
