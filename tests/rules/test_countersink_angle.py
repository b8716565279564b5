from dataclasses import replace

import pytest

from tests.rules import _builders as build

RULE = "countersink_angle"


def test_fires() -> None:
    """78 degrees is nobody's head."""
    odd = build.countersunk(angle=78.0)
    (found,) = build.ask(RULE, build.case(odd))
    assert build.told(found) == ("note", pytest.approx(4.0), 0.5)
    assert "82°" in found.suggestion
    assert build.ask(RULE, build.case(replace(odd, countersink_angle_deg=82.0))) == []


@pytest.mark.parametrize("angle", [82.0, 90.0, 100.0, 120.0, pytest.param(90.5, id="exactly-at-the-limit")])
def test_stays_silent(angle: float) -> None:
    """Angles that heads and tools have."""
    assert build.ask(RULE, build.case(build.countersunk(angle=angle))) == []
