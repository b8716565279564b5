import pytest

from tests.rules import _builders as build

RULE = "too_many_hole_sizes"


def test_fires() -> None:
    """Seven sizes, two of them twice: the other five are named."""
    holes = [build.hole(each) for each in (3.0, 3.0, 4.0, 4.0, 5.0, 6.0, 7.0, 8.0, 9.0)]
    (found,) = build.ask(RULE, build.case(*holes))
    assert build.told(found) == ("note", 7, 6.0)
    assert "⌀5, ⌀6, ⌀7, ⌀8, ⌀9" in found.message
    assert found.features == ("F5", "F6", "F7", "F8", "F9")
    assert found.suggestion.startswith("1 size less")


@pytest.mark.parametrize("count", [0, 3, pytest.param(6, id="exactly-six")])
def test_stays_silent(count: int) -> None:
    """Up to six sizes, in however many holes."""
    assert build.ask(RULE, build.case(*(build.hole(3.0 + i) for i in range(count) for _ in range(3)))) == []
