import pytest

from analyzers.model.feature import Feature
from tests.rules import _builders as build

RULE = "corner_radius_at_cutter"


@pytest.mark.parametrize("radius", [5.0, 5.5])
def test_fires(radius: float) -> None:
    """The 10 mm end mill stops dead in R5, and does not yet roll in R5.5: that takes 5 / 0.9 = 5.56."""
    (found,) = build.ask(RULE, build.case(build.pocket(20.0, radius)))
    assert build.told(found) == ("note", radius, pytest.approx(5.0 / 0.9))
    assert "⌀10 end mill" in found.message
    assert "R5.6" in found.suggestion


@pytest.mark.parametrize(
    "feature",
    [
        pytest.param(build.pocket(20.0, 5.0 / 0.9), id="exactly-rolling"),
        pytest.param(build.pocket(20.0, 7.0), id="rolls"),
        pytest.param(build.pocket(20.0, 4.9), id="the-6-mm-cutter-rolls"),
        pytest.param(build.pocket(None, 5.0), id="depth-not-measured"),
        pytest.param(build.pocket(20.0, None), id="no-corner"),
        pytest.param(build.slot(10.0, 20.0, corner_radius_mm=5.0, ends="round"), id="a-slot-is-cut-full-anyway"),
    ],
)
def test_stays_silent(feature: Feature) -> None:
    """Where some cutter of the shelf rolls."""
    assert build.ask(RULE, build.case(feature)) == []


def test_cutter_must_come_down() -> None:
    """At 50 mm only the 16 mm cutter reaches, and it does not fit R5: nothing to say here."""
    assert build.ask(RULE, build.case(build.pocket(50.0, 5.0))) == []


def test_handbook_example_in_inches() -> None:
    """A 3/8 in end mill (radius 0.1875 in) in a 0.1875 in corner is noted, in a 0.209 in corner it is not."""
    shop = build.shop(cutters=(build.end_mill(0.375 * 25.4, 40.0),))
    assert build.ask(RULE, build.case(build.pocket(10.0, 0.1875 * 25.4), shop_=shop))
    assert build.ask(RULE, build.case(build.pocket(10.0, 0.209 * 25.4), shop_=shop)) == []
