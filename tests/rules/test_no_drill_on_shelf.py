import pytest

from analyzers.model.feature import Feature
from tests.rules import _builders as build

RULE = "no_drill_on_shelf"


def test_fires() -> None:
    """M5's tap drill 4.2 is not among 5, 6.6 and 8, and the 2 mm end mill reaches 6 mm only."""
    (found,) = build.ask(RULE, build.case(build.hole(4.2, 14.0), build.hole(4.2, 12.0)))
    assert build.told(found) == ("note", pytest.approx(0.8), 0.05)
    assert found.features == ("F1", "F2")
    assert "⌀5 for ⌀4.2" in found.suggestion


@pytest.mark.parametrize(
    "hole",
    [
        pytest.param(build.hole(5.0, 14.0), id="on-the-shelf"),
        pytest.param(build.hole(6.65, 14.0), id="exactly-as-near-as-it-may-be"),
        pytest.param(build.hole(4.2, 5.0), id="shallow-enough-to-be-milled"),
        pytest.param(build.hole(13.5, 14.0), id="wide-enough-to-be-milled"),
        pytest.param(build.hole(11.43, 30.0), id="no-standard-size-is-another-rule"),
    ],
)
def test_stays_silent(hole: Feature) -> None:
    """Drilled or milled with what is there."""
    assert build.ask(RULE, build.case(hole)) == []


def test_stays_silent_without_any_drill() -> None:
    """A shelf without drills is a shop file without drills, not a finding on each hole."""
    assert build.ask(RULE, build.case(build.hole(4.2), shop_=build.shop(cutters=(build.end_mill(16.0, 60.0),)))) == []
