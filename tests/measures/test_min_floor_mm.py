"""Floors under pockets and blind holes."""

import math

import pytest

from analyzers.features.hole import RoundHole
from analyzers.features.pocket import ClosedPocket
from analyzers.measures import take_all
from analyzers.measures.min_floor_mm import measure
from analyzers.model.measure import FeatureNumber
from tests.measures._shapes import askew, box, cut, featured, fuse, hole, loaded, pocket, rod, taken, taper

POINT_HEIGHT = 2.5 / math.tan(math.radians(59))
EVERYWHERE = (-500.0, -500.0, -500.0), (500.0, 500.0, 500.0)
TWO_POCKETS = cut(box((0, 0, 0), (80, 40, 12)), box((10, 10, 2), (30, 30, 13)), box((40, 10, 5), (70, 30, 13)))


def test_each_pocket_gets_its_own_floor_and_the_body_the_least() -> None:
    """Pockets that leave 2 and 5 mm: both are told, the thinner one is the measure, with its pocket."""
    facts, geometry = loaded(TWO_POCKETS)
    facts = featured(
        facts,
        pocket(facts.part, (39, 9, 4), (71, 31, 11.5)),
        pocket(facts.part, (9, 9, 1), (31, 31, 11.5)),
    )
    measured, problems = take_all(facts, geometry)
    assert problems == ()
    floors = [each.floor_thickness_mm for each in measured.features if isinstance(each, ClosedPocket)]
    assert floors == pytest.approx([5.0, 2.0])
    least = measured.measure("min_floor_mm")
    assert least is not None
    assert least.value == pytest.approx(2.0)
    assert least.feature == "F2"
    assert least.point_mm is not None
    assert least.point_mm[2] == pytest.approx(2.0)
    kinds = {(round(each.thickness_mm, 6), each.kind) for each in measured.walls}
    assert {(2.0, "floor"), (5.0, "floor")} <= kinds


def test_a_drill_point_counts_from_its_tip() -> None:
    """A blind hole of 5 mm, full to 6 of 10 mm with a 118 degree point, leaves 10 - 6 - 0.3004 x 5 = 2.498 mm."""
    drill = fuse(rod((0, 0, 4), 2.5, 20), taper((0, 0, 4 - POINT_HEIGHT), 0.0, 2.5, POINT_HEIGHT))
    facts, geometry = loaded(cut(box((-20, -20, 0), (20, 20, 10)), drill))
    blind = hole(facts.part, (-1, -1, 2), (1, 1, 9), through=False, bottom="conical", diameter_mm=5.0, depth_mm=6.0)
    assert taken("min_floor_mm", featured(facts, blind), geometry).value == pytest.approx(2.498, abs=1e-3)
    (known,) = take_all(featured(facts, blind), geometry)[0].features
    assert isinstance(known, RoundHole)
    assert known.floor_thickness_mm == pytest.approx(2.498, abs=1e-3)


def test_a_through_hole_has_no_floor_of_its_own() -> None:
    """It says none, and so does its document's field."""
    facts, geometry = loaded(cut(box((0, 0, 0), (40, 40, 10)), rod((20, 20, -1), 3, 12)))
    (known,) = take_all(featured(facts, hole(facts.part, *EVERYWHERE)), geometry)[0].features
    assert isinstance(known, RoundHole)
    assert known.floor_thickness_mm is None


def test_the_material_beside_a_pocket_is_no_floor() -> None:
    """A pocket 1 mm from the side and 5 mm above the bottom stands on 5 mm."""
    facts, geometry = loaded(cut(box((0, 0, 0), (60, 40, 12)), box((1, 10, 5), (50, 30, 13))))
    facts = featured(facts, pocket(facts.part, (0.5, 9, 4), (51, 31, 11.5)))
    assert taken("min_floor_mm", facts, geometry).value == pytest.approx(5.0)


@pytest.mark.parametrize("through", [True, False], ids=["through-hole", "no-feature"])
def test_without_a_floor_there_is_a_reason_and_no_problem(through: bool) -> None:
    """A through hole, or nothing at all, has no floor: no value, the reason, and it does not apply."""
    facts, geometry = loaded(askew(cut(box((0, 0, 0), (40, 40, 10)), rod((20, 20, -1), 3, 12))))
    if through:
        facts = featured(facts, hole(facts.part, *EVERYWHERE))
    measure_taken = taken("min_floor_mm", facts, geometry)
    assert measure_taken.value is None
    assert measure_taken.why_none
    assert not measure_taken.applies
    assert not any(isinstance(each, FeatureNumber) for each in measure(facts, geometry))
