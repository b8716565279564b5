import pytest

from analyzers.model.feature import Feature
from tests.rules import _builders as build

RULE = "hole_entry_inclined"


@pytest.mark.parametrize(
    ("entry", "angle", "level"),
    [("inclined", 15.0, "warning"), ("inclined", 2.1, "warning"), ("curved", 30.0, "warning"), ("curved", 0.0, "note")],
)
def test_fires(entry: str, angle: float, level: str) -> None:
    """A slope, a curve met aside, and, milder, a curve met square."""
    (found,) = build.ask(RULE, build.case(build.hole(entry=entry, entry_angle_deg=angle)))
    assert found.level == level
    assert "⌀7.5" in found.suggestion  # one and a half times 5


@pytest.mark.parametrize(
    "hole",
    [
        pytest.param(build.hole(), id="square"),
        pytest.param(build.hole(entry="inclined", entry_angle_deg=2.0), id="exactly-at-the-limit"),
        pytest.param(build.pocket(), id="not-a-hole"),
    ],
)
def test_stays_silent(hole: Feature) -> None:
    """Square within two degrees."""
    assert build.ask(RULE, build.case(hole)) == []


def test_all_that_meet_a_curve_square_share_one_line() -> None:
    """Three cross holes of three sizes in a shaft."""
    holes = [build.hole(each, entry="curved") for each in (4.0, 5.0, 6.0)]
    (found,) = build.ask(RULE, build.case(*holes))
    assert found.features == ("F1", "F2", "F3")
    assert found.message.startswith("3 holes ⌀4 ↧10, ⌀5 ↧10, ⌀6 ↧10 start on a curved face")
    assert "⌀6 or ⌀7.5 or ⌀9" in found.suggestion
