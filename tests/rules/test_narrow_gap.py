import pytest

from analyzers.model.measure import Measure
from tests.rules import _builders as build

RULE = "narrow_gap"


def gap(value: float | None, feature: str | None = "F1") -> Measure:
    """Return the body's least gap."""
    if value is None:
        return Measure(name="min_gap_mm", value=None, why_none="no two faces look at one another", applies=False)
    return Measure(name="min_gap_mm", value=value, point_mm=(1.0, 2.0, 3.0), faces=(6, 8), feature=feature)


def test_fires() -> None:
    """1.5 mm where the thinnest end mill is 2 mm."""
    (found,) = build.ask(RULE, build.case(build.slot(1.5), measures=(gap(1.5),)))
    assert build.told(found) == ("warning", 1.5, 2.0)
    assert (found.feature, found.faces) == ("F1", (6, 8))
    assert "0.5 mm wider" in found.suggestion


@pytest.mark.parametrize(
    "measures",
    [
        pytest.param((gap(2.0),), id="exactly-the-thinnest"),
        pytest.param((gap(9.0),), id="wide"),
        pytest.param((gap(None),), id="no-gap-in-the-body"),
        pytest.param((), id="not-measured"),
    ],
)
def test_stays_silent(measures: tuple[Measure, ...]) -> None:
    """As wide as the thinnest end mill, or nothing measured."""
    assert build.ask(RULE, build.case(build.slot(), measures=measures)) == []
