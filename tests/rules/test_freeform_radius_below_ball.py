import pytest

from tests.rules import _builders as build

RULE = "freeform_radius_below_ball"


def test_fires() -> None:
    """R2 where the smallest ball is 6 mm: the tightest of two regions is named."""
    (found,) = build.ask(RULE, build.case(build.region(2.5), build.region(2.0)))
    assert build.told(found) == ("warning", 2.0, 3.0)
    assert found.features == ("F1", "F2")
    assert "⌀4" in found.suggestion


@pytest.mark.parametrize(
    "radius",
    [pytest.param(3.0, id="exactly-the-ball"), pytest.param(20.0, id="wide"), pytest.param(None, id="nowhere-hollow")],
)
def test_stays_silent(radius: float | None) -> None:
    """The ball goes in."""
    assert build.ask(RULE, build.case(build.region(radius))) == []


def test_stays_silent_without_a_ball_on_the_shelf() -> None:
    """Then the plan says that the region stays unmade."""
    assert build.ask(RULE, build.case(build.region(1.0), shop_=build.shop(cutters=(build.end_mill(6.0, 20.0),)))) == []
