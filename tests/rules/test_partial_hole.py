from dataclasses import replace
from typing import Any

import pytest

from analyzers.model.part import Part, Surface
from tests.rules import _builders as build
from tests.rules import _solids as solids

RULE = "partial_hole"
FLANK = solids.Face(Surface.CYLINDER, solids.UP, radius=2.5, concave=True, along=(2.0, 12.0))


def bored(*spans: float) -> Part:
    """Return a part whose only faces are the flank of a ⌀5 hole, 10 long, in pieces of these spans side by side."""
    return solids.part_of([replace(FLANK, span=each) for each in spans])


@pytest.mark.parametrize("spans", [(216.0,), (135.0, 130.0)])
def test_fires(spans: tuple[float, ...]) -> None:
    """A hole that runs out of the side over more than a quarter of its turn, in one face or in two."""
    hole = build.hole(5.0, 30.0, faces=tuple(range(len(spans))))
    (found,) = build.ask(RULE, build.case(hole, part=bored(*spans)))
    assert build.told(found) == ("note", pytest.approx(sum(spans) / 360.0), 0.75)


@pytest.mark.parametrize(
    ("spans", "changes"),
    [
        pytest.param((360.0,), {}, id="whole"),
        pytest.param((180.0, 180.0), {}, id="split-by-the-exporter"),
        pytest.param((270.0,), {}, id="exactly-at-the-limit"),
        pytest.param((180.0,), {"entry": "inclined", "entry_angle_deg": 30.0}, id="slanted-entry"),
        pytest.param((180.0,), {"diameter_mm": 6.0}, id="no-cylinder-of-that-size"),
    ],
)
def test_stays_silent(spans: tuple[float, ...], changes: dict[str, Any]) -> None:
    """Whole holes, and those whose flank says nothing."""
    hole = replace(build.hole(5.0, 30.0, faces=tuple(range(len(spans)))), **changes)
    assert build.ask(RULE, build.case(hole, part=bored(*spans))) == []


def test_flank_of_no_length_is_not_measured() -> None:
    """A face whose extent along the axis is unknown gives no share."""
    part = solids.part_of([replace(FLANK, span=180.0, along=(0.0, 0.0))])
    assert build.ask(RULE, build.case(build.hole(5.0, 30.0, faces=(0,)), part=part)) == []


def test_halves_that_run_opposite_ways_stand_side_by_side() -> None:
    """Exporters split a hole and may turn one half's axis round."""
    down = replace(FLANK, span=180.0, axis=(0.0, 0.0, -1.0), along=(-12.0, -2.0))
    part = solids.part_of([replace(FLANK, span=180.0), down])
    assert build.ask(RULE, build.case(build.hole(5.0, 30.0, faces=(0, 1)), part=part)) == []


def test_a_slot_across_the_hole_is_no_missing_flank() -> None:
    """Half open from 5 to 9 only: below and above the flank goes all round."""
    pieces = [(2.0, 5.0, 360.0), (5.0, 9.0, 180.0), (9.0, 12.0, 360.0)]
    part = solids.part_of([replace(FLANK, span=span, along=(low, high)) for low, high, span in pieces])
    assert build.ask(RULE, build.case(build.hole(5.0, 30.0, faces=(0, 1, 2)), part=part)) == []


def test_moved_part_gives_the_same_share() -> None:
    """Turned about no axis of the frame."""
    hole = build.moved_feature(build.hole(5.0, 30.0, faces=(0,)))
    (found,) = build.ask(RULE, build.case(hole, part=solids.moved(bored(216.0))))
    assert found.measured == pytest.approx(0.6)


def test_stays_silent_where_an_end_mill_goes_round() -> None:
    """⌀5 and 5 deep: the 2 mm end mill reaches 6."""
    assert build.ask(RULE, build.case(build.hole(5.0, 5.0, faces=(0,)), part=bored(216.0))) == []
