from dataclasses import replace

import pytest

from analyzers.model.feature import Feature
from tests.rules import _builders as build

RULE = "floor_radius_not_on_shelf"


@pytest.mark.parametrize(("floor", "nearest"), [(1.2, 1.0), (0.4, 0.0), (2.4, 3.0)])
def test_fires(floor: float, nearest: float) -> None:
    """The shelf has corners of 0, 1 and 3 (ball)."""
    odd = build.pocket(12.0, 6.0, floor_radius_mm=floor)
    (found,) = build.ask(RULE, build.case(odd))
    assert build.told(found) == ("note", floor, nearest)
    assert build.ask(RULE, build.case(replace(odd, floor_radius_mm=nearest))) == []


@pytest.mark.parametrize(
    "feature",
    [
        pytest.param(build.pocket(12.0, 6.0, floor_radius_mm=1.0), id="the-bull-nose"),
        pytest.param(build.pocket(12.0, 6.0, floor_radius_mm=1.05), id="exactly-at-the-limit"),
        pytest.param(build.pocket(12.0, 6.0, floor_radius_mm=0.0), id="sharp"),
        pytest.param(build.pocket(12.0, 6.0, floor_radius_mm=None), id="no-floor"),
        pytest.param(build.step(12.0, 30.0, through=True, floor_radius_mm=1.2), id="step-cut-along-its-fillet"),
    ],
)
def test_stays_silent(feature: Feature) -> None:
    """A corner that the shelf has, or none."""
    assert build.ask(RULE, build.case(feature)) == []


def test_cutter_must_go_in() -> None:
    """R1 is a 10 mm bull nose's: it does not go into R4 corners, there the ball's R3 is next to R2.5."""
    (found,) = build.ask(RULE, build.case(build.pocket(12.0, 4.0, floor_radius_mm=1.0)))
    assert found.limit == 0.0
