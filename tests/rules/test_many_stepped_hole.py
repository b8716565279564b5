import pytest

from tests.rules import _builders as build

RULE = "many_stepped_hole"


def test_fires() -> None:
    """Four diameters."""
    (found,) = build.ask(RULE, build.case(build.stepped(12.0, 10.0, 8.0, 6.0)))
    assert build.told(found) == ("note", 4, 3.0)
    assert found.suggestion.startswith("1 step less, 3 in all")


@pytest.mark.parametrize("diameters", [(12.0, 8.0), pytest.param((12.0, 10.0, 8.0), id="exactly-three")])
def test_stays_silent(diameters: tuple[float, ...]) -> None:
    """Drill, counterbore, entry."""
    assert build.ask(RULE, build.case(build.stepped(*diameters))) == []
