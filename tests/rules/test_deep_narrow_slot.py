from dataclasses import replace

import pytest

from analyzers.model.feature import Feature
from tests.rules import _builders as build

RULE = "deep_narrow_slot"


@pytest.mark.parametrize(
    ("slot", "level", "measured", "limit"),
    [
        pytest.param(build.slot(6.0, 19.0), "note", 19.0 / 6.0, 3.0, id="over-three-widths"),
        pytest.param(build.slot(6.0, 24.5), "warning", 24.5 / 6.0, 4.0, id="over-four-widths"),
        pytest.param(build.slot(6.0, 26.0), "error", 26.0, 25.0, id="beyond-the-longest-6-mm-cutter"),
        pytest.param(build.slot(1.9, 1.0), "error", 1.9, 2.0, id="narrower-than-the-thinnest"),
    ],
)
def test_fires(slot: Feature, level: str, measured: float, limit: float) -> None:
    """Slender, out of reach, or too narrow."""
    (found,) = build.ask(RULE, build.case(slot))
    assert build.told(found) == (level, pytest.approx(measured), limit)


@pytest.mark.parametrize(
    "slot",
    [
        pytest.param(build.slot(6.0, 18.0), id="exactly-three-widths"),
        pytest.param(build.slot(2.0, 2.0), id="exactly-the-thinnest-cutter"),
        pytest.param(build.slot(None, 10.0), id="width-not-measured"),
        pytest.param(build.slot(6.0, None), id="depth-not-measured"),
        pytest.param(build.pocket(60.0), id="pocket"),
    ],
)
def test_stays_silent(slot: Feature) -> None:
    """Within the limits, at them, or unknown."""
    assert build.ask(RULE, build.case(slot)) == []


@pytest.mark.parametrize(("width", "depth"), [(6.0, 24.5), (6.0, 26.0), (1.9, 1.0)])
def test_suggested_width_clears_it(width: float, depth: float) -> None:
    """What was above a note is none any more."""
    slot = build.slot(width, depth)
    (found,) = build.ask(RULE, build.case(slot))
    assert found.change is not None
    assert found.change.field == "width_mm"
    changed = build.ask(RULE, build.case(replace(slot, width_mm=found.change.number)))
    assert set(build.levels(changed)) <= {"note"}
