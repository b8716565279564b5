from dataclasses import replace
from typing import Any

import pytest

from analyzers.model.feature import Feature
from analyzers.model.tolerance_note import ToleranceNote
from tests.rules import _builders as build

RULE = "near_miss_hole_size"


def test_fires() -> None:
    """5.05 mm blind is 0.05 mm beside the tap drill of M6."""
    (found,) = build.ask(RULE, build.case(build.hole(5.05, 14.0)))
    assert build.told(found) == ("note", pytest.approx(0.05), 0.013)
    assert "M6" in found.message
    assert "⌀5" in found.suggestion


@pytest.mark.parametrize(
    "hole",
    [
        pytest.param(build.hole(5.0, 14.0), id="the-size-itself"),
        pytest.param(build.hole(5.013, 14.0), id="exactly-at-the-limit"),
        pytest.param(build.hole(11.43, 20.0), id="beside-a-drill-only"),
    ],
)
def test_stays_silent(hole: Feature) -> None:
    """The size itself, or nothing it could be meant for."""
    assert build.ask(RULE, build.case(hole)) == []


def test_suggested_size_clears_it() -> None:
    """Judged again, the hole is a tap drill."""
    odd = build.hole(5.05, 14.0)
    (found,) = build.ask(RULE, build.case(odd))
    assert found.change is not None
    assert build.ask(RULE, build.case(replace(odd, diameter_mm=found.change.number))) == []


@pytest.mark.parametrize(("note", "count"), [({"thread": "M6"}, 0), ({"fit": "H7"}, 0), ({"zone_mm": 0.2}, 1)])
def test_a_thread_or_fit_in_the_model_explains_the_size(note: dict[str, Any], count: int) -> None:
    """Limits alone do not."""
    case = build.case(build.hole(5.05, 14.0))
    said = ToleranceNote(kind="diameter", faces=(20,), **({"nominal_mm": 5.0} | note))
    assert len(build.ask(RULE, replace(case, facts=replace(case.facts, tolerances=(said,))))) == count
