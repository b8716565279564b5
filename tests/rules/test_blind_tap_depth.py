from dataclasses import replace

import pytest

from analyzers.model.feature import Feature
from tests.rules import _builders as build

RULE = "blind_tap_depth"


def test_fires() -> None:
    """⌀5 blind is the tap drill of M6 (pitch 1): DIN 76-2 asks 5.1 mm below the thread, 4.9 mm are left of 10."""
    (found,) = build.ask(RULE, build.case(build.hole(5.0, 10.0)))
    assert build.told(found) == ("note", pytest.approx(4.9 / 6.0), 1.0)
    assert "M6" in found.message
    assert "leaves 4.9 mm of full thread, 0.8 × d" in found.message
    assert "↧11.5" in found.suggestion  # 6 + 5.1 to the next half


@pytest.mark.parametrize(
    "hole",
    [
        pytest.param(build.hole(5.0, 11.1), id="exactly-one-diameter-of-thread"),
        pytest.param(build.hole(5.0, 20.0), id="deep"),
        pytest.param(build.hole(5.0, 10.0, through=True, bottom="through"), id="through"),
        pytest.param(build.hole(5.0, None), id="depth-not-measured"),
        pytest.param(build.hole(11.43, 6.0), id="no-tap-drill"),
    ],
)
def test_stays_silent(hole: Feature) -> None:
    """Room enough, or no thread in sight."""
    assert build.ask(RULE, build.case(hole)) == []


def test_suggested_depth_clears_it() -> None:
    """Judged again with that depth, nothing is left to say."""
    shallow = build.hole(5.0, 10.0)
    (found,) = build.ask(RULE, build.case(shallow))
    assert found.change is not None
    assert build.ask(RULE, build.case(replace(shallow, depth_mm=found.change.number))) == []
