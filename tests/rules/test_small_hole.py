import pytest

from tests.rules import _builders as build

RULE = "small_hole"


def test_fires() -> None:
    """⌀0.8, twice."""
    (found,) = build.ask(RULE, build.case(build.hole(0.8, 2.0), build.hole(0.8, 2.0)))
    assert build.told(found) == ("note", 0.8, 1.0)
    assert found.features == ("F1", "F2")
    assert "⌀1 or more" in found.suggestion


@pytest.mark.parametrize("diameter", [5.0, pytest.param(1.0, id="exactly-at-the-limit")])
def test_stays_silent(diameter: float) -> None:
    """Sizes that survive."""
    assert build.ask(RULE, build.case(build.hole(diameter))) == []
