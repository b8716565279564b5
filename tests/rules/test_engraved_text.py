import pytest

from analyzers.model.feature import Feature
from tests.rules import _builders as build

RULE = "engraved_text"


def stroke(depth: float | None = 0.3, width: float | None = 4.0) -> Feature:
    """Return a letter's outline as a shallow pocket."""
    return build.pocket(depth, 0.0, width_mm=width, length_mm=6.0)


def test_fires() -> None:
    """Six letters."""
    (found,) = build.ask(RULE, build.case(*(stroke(0.3 + 0.01 * i) for i in range(6))))
    assert build.told(found) == ("note", 6, 5.0)
    assert "0.35 mm deep" in found.message


@pytest.mark.parametrize(
    ("count", "depth", "width"),
    [
        pytest.param(5, 0.3, 4.0, id="exactly-five"),
        pytest.param(9, 2.0, 4.0, id="deep"),
        pytest.param(9, 0.3, 30.0, id="wide"),
        pytest.param(9, None, 4.0, id="depth-not-measured"),
        pytest.param(9, 0.3, None, id="width-not-measured"),
    ],
)
def test_stays_silent(count: int, depth: float | None, width: float | None) -> None:
    """A few recesses, or real pockets."""
    assert build.ask(RULE, build.case(*(stroke(depth, width) for _ in range(count)))) == []
