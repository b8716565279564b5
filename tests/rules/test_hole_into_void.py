import pytest

from analyzers.model.feature import Feature
from tests.rules import _builders as build

RULE = "hole_into_void"


def test_fires() -> None:
    """Two equal cross holes: one line."""
    cross = build.hole(4.0, 12.0, bottom="into_void", point_angle_deg=None)
    (found,) = build.ask(RULE, build.case(cross, cross))
    assert build.told(found) == ("note", 2, 0.0)
    assert "2 inner rims" in found.suggestion


@pytest.mark.parametrize(
    "hole",
    [
        pytest.param(build.hole(), id="exactly-none-ends-in-material"),
        pytest.param(build.hole(through=True, bottom="through"), id="through"),
        pytest.param(build.pocket(), id="pocket"),
    ],
)
def test_stays_silent(hole: Feature) -> None:
    """Holes that end where drills like to end."""
    assert build.ask(RULE, build.case(hole)) == []
