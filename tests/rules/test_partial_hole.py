import math
from dataclasses import replace
from typing import Any

import pytest

from analyzers.model.part import Part, Surface
from tests.rules import _builders as build

RULE = "partial_hole"


def bored(share: float, split: int = 1) -> Part:
    """Return a part whose only faces are the flank of a ⌀5 hole, 10 deep, of which that share is there."""
    area = math.pi * 5.0 * 10.0 * share / split
    flank = build.Face(Surface.CYLINDER, build.UP, area=area, radius=2.5, concave=True, along=(2.0, 12.0))
    return build.part_of([flank] * split)


@pytest.mark.parametrize(("share", "split"), [(0.6, 1), (0.74, 2)])
def test_fires(share: float, split: int) -> None:
    """A hole of which a quarter and more runs out of the side."""
    hole = build.hole(5.0, 10.0, faces=tuple(range(split)))
    (found,) = build.ask(RULE, build.case(hole, part=bored(share, split)))
    assert build.told(found) == ("note", pytest.approx(share), 0.75)


@pytest.mark.parametrize(
    ("share", "changes"),
    [
        pytest.param(1.0, {}, id="whole"),
        pytest.param(0.75, {}, id="exactly-at-the-limit"),
        pytest.param(0.5, {"entry": "inclined", "entry_angle_deg": 30.0}, id="slanted-entry-cuts-the-flank-anyway"),
        pytest.param(0.5, {"diameter_mm": 6.0}, id="no-cylinder-of-that-size"),
    ],
)
def test_stays_silent(share: float, changes: dict[str, Any]) -> None:
    """Whole holes, and those whose flank says nothing."""
    hole = replace(build.hole(5.0, 10.0, faces=(0,)), **changes)
    assert build.ask(RULE, build.case(hole, part=bored(share))) == []


def test_flank_of_no_length_is_not_measured() -> None:
    """A face whose extent along the axis is unknown gives no share."""
    flank = build.cylinder(build.UP, 2.5, concave=True)
    assert build.ask(RULE, build.case(build.hole(5.0, 10.0, faces=(0,)), part=build.part_of([flank]))) == []


def test_halves_that_run_opposite_ways_span_the_hole_once() -> None:
    """Exporters split a hole and may turn one half's axis round."""
    area = math.pi * 5.0 * 10.0 / 2.0
    up = build.Face(Surface.CYLINDER, build.UP, area=area, radius=2.5, concave=True, along=(2.0, 12.0))
    down = replace(up, axis=(0.0, 0.0, -1.0), along=(-12.0, -2.0))
    part = build.part_of([up, down])
    assert build.ask(RULE, build.case(build.hole(5.0, 10.0, faces=(0, 1)), part=part)) == []


def test_a_gap_right_across_the_hole_is_no_missing_flank() -> None:
    """Two ears on one axis: 2 to 5 and 9 to 12 are there all round, between them there is nothing to drill."""
    area = math.pi * 5.0 * 3.0
    low = build.Face(Surface.CYLINDER, build.UP, area=area, radius=2.5, concave=True, along=(2.0, 5.0))
    part = build.part_of([low, replace(low, along=(9.0, 12.0))])
    assert build.ask(RULE, build.case(build.hole(5.0, 10.0, faces=(0, 1)), part=part)) == []
