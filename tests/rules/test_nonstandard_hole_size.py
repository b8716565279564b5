from dataclasses import replace
from typing import Any

import pytest

from analyzers.model.feature import Feature
from analyzers.model.tolerance_note import ToleranceNote
from tests.rules import _builders as build
from tests.rules import _solids as solids

RULE = "nonstandard_hole_size"


def test_fires() -> None:
    """11.43 mm is between the drills 11.4 and 11.5 and beside no fastener; 30 deep no end mill goes round in it."""
    (found,) = build.ask(RULE, build.case(build.hole(11.43, 30.0, through=True, bottom="through")))
    assert build.told(found) == ("note", pytest.approx(0.03), 0.013)
    assert "⌀11.4" in found.suggestion


@pytest.mark.parametrize(
    "hole",
    [
        pytest.param(build.hole(11.4, 30.0), id="a-drill"),
        pytest.param(build.hole(11.413, 30.0), id="exactly-at-the-limit"),
        pytest.param(build.hole(6.6, 20.0), id="clearance-for-M6"),
        pytest.param(build.hole(5.05, 20.0), id="beside-a-fastener-is-another-rule"),
        pytest.param(build.hole(11.43, 15.0), id="shallow-enough-to-be-milled-round"),
        pytest.param(build.hole(141.37, 90.0), id="bored"),
        pytest.param(build.pocket(), id="no-hole"),
    ],
)
def test_stays_silent(hole: Feature) -> None:
    """Standard sizes, and what is bored anyway."""
    assert build.ask(RULE, build.case(hole)) == []


def test_inch_part_is_judged_in_inches() -> None:
    """A No.7 drill (0.201 in) is standard in a part drawn in inches."""
    part = solids.block(size=(3.0 * 25.4, 2.0 * 25.4, 25.4))
    assert build.ask(RULE, build.case(build.hole(0.201 * 25.4, 12.7), part=part, unit="inch")) == []


def test_suggested_size_clears_it() -> None:
    """The drill's own size is standard."""
    odd = build.hole(11.43, 30.0)
    (found,) = build.ask(RULE, build.case(odd))
    assert found.change is not None
    assert build.ask(RULE, build.case(replace(odd, diameter_mm=found.change.number))) == []


@pytest.mark.parametrize(("note", "count"), [({"thread": "M6"}, 0), ({"fit": "H7"}, 0), ({"zone_mm": 0.2}, 1)])
def test_a_thread_or_fit_in_the_model_explains_the_size(note: dict[str, Any], count: int) -> None:
    """Limits alone do not."""
    case = build.case(build.hole(11.43, 30.0))
    said = ToleranceNote(kind="diameter", faces=(20,), **({"nominal_mm": 5.0} | note))
    assert len(build.ask(RULE, replace(case, facts=replace(case.facts, tolerances=(said,))))) == count
