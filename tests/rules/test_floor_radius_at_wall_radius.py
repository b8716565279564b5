from dataclasses import replace

import pytest

from analyzers.model.feature import Feature
from tests.rules import _builders as build

RULE = "floor_radius_at_wall_radius"


@pytest.mark.parametrize("floor", [3.9, 4.0, 5.0])
def test_fires(floor: float) -> None:
    """Equal radii, or a floor radius above the wall's."""
    (found,) = build.ask(RULE, build.case(build.pocket(12.0, 4.0, floor_radius_mm=floor)))
    assert build.told(found) == ("note", pytest.approx(floor / 4.0), 0.95)


@pytest.mark.parametrize(
    "feature",
    [
        pytest.param(build.pocket(12.0, 4.0, floor_radius_mm=1.0), id="bull-nose"),
        pytest.param(build.pocket(12.0, 4.0, floor_radius_mm=3.8), id="exactly-at-the-limit"),
        pytest.param(build.pocket(12.0, 4.0, floor_radius_mm=0.0), id="sharp-floor"),
        pytest.param(build.pocket(12.0, 4.0, floor_radius_mm=None, through=True), id="no-floor"),
        pytest.param(build.pocket(12.0, 0.0, floor_radius_mm=3.0), id="sharp-corner-is-another-rule"),
    ],
)
def test_stays_silent(feature: Feature) -> None:
    """A floor radius below the wall's, or nothing to compare."""
    assert build.ask(RULE, build.case(feature)) == []


def test_suggests_the_radius_of_a_bull_nose_on_the_shelf() -> None:
    """The 10 mm bull nose with R1 goes into R6 corners; into R4 corners none goes, so a sharp floor."""
    for wall, wanted in ((6.0, 1.0), (4.0, 0.0)):
        equal = build.pocket(12.0, wall, floor_radius_mm=wall)
        (found,) = build.ask(RULE, build.case(equal))
        assert found.change is not None
        assert found.change.value == wanted
        assert build.ask(RULE, build.case(replace(equal, floor_radius_mm=wanted))) == []
