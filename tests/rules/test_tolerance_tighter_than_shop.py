from dataclasses import replace
from typing import Any

import pytest

from analyzers.model.tolerance_note import ToleranceNote
from analyzers.rules._base import Case
from tests.rules import _builders as build

RULE = "tolerance_tighter_than_shop"
HELD_UM = 36.0
"""IT 9 of sizes over 3 to 6 mm is 30, over 6 to 10 mm 36 micrometres (ISO 286-1:2010, table 1); the shop holds IT 9."""


def noted(*notes: ToleranceNote, **changes: Any) -> Case:
    """Return a case of one hole on face 20 whose model carries notes."""
    one = build.case(build.hole(8.0), **changes)
    return replace(one, facts=replace(one.facts, tolerances=notes))


def bore(width_um: float, **changes: Any) -> ToleranceNote:
    """Return the note of an 8 mm hole, all of its tolerance above nominal."""
    zone = width_um / 1000.0
    given: dict[str, Any] = {"nominal_mm": 8.0, "upper_mm": zone, "lower_mm": 0.0, "zone_mm": zone, "faces": (20,)}
    return ToleranceNote(kind="diameter", **{**given, **changes})


def flatness(zone_mm: float) -> ToleranceNote:
    """Return a form tolerance of the block's top."""
    return ToleranceNote(kind="flatness", zone_mm=zone_mm, faces=(4,))


def test_fires_below_the_shops_grade() -> None:
    """One micrometre less than IT 9 is IT 8's business; the width that would do is said."""
    (found,) = build.ask(RULE, noted(bore(HELD_UM - 1.0)))
    assert (found.level, found.features, found.measured, found.limit) == ("warning", ("F1",), 8.0, 9.0)
    assert "0.036 mm" in found.suggestion


def test_fires_once_for_equal_notes() -> None:
    """Two equal bores share a finding; another tolerance has its own."""
    notes = (bore(15.0), bore(15.0, faces=(21,)), bore(9.0))
    found = build.ask(RULE, noted(*notes))
    assert [each.measured for each in found] == [7.0, 6.0]
    assert found[0].faces == (20, 21)


def test_fires_on_a_fit_by_its_own_grade() -> None:
    """H6 asks for grade 6, whatever its deviations are."""
    fit = bore(9.0, fit="H6")
    assert [each.measured for each in build.ask(RULE, noted(fit))] == [6.0]


def test_fires_on_form_at_the_lowest_level() -> None:
    """The block's top is 60 x 40 mm, a square of 49 mm: IT 9 of that is 62 micrometres, so 0.05 is finer."""
    (found,) = build.ask(RULE, noted(flatness(0.05)))
    assert found.level == "note"


@pytest.mark.parametrize(
    "note",
    [
        pytest.param(bore(HELD_UM), id="exactly-the-shops-grade"),
        pytest.param(bore(200.0), id="wide"),
        pytest.param(bore(5.0, use="auxiliary"), id="for-reference-only"),
        pytest.param(bore(5.0, nominal_mm=800.0), id="beyond-the-table"),
        pytest.param(bore(0.0, zone_mm=None, upper_mm=None, lower_mm=None), id="without-limits"),
        pytest.param(flatness(0.062), id="form-exactly-at-the-grade"),
        pytest.param(ToleranceNote(kind="flatness", zone_mm=0.001), id="form-of-no-face"),
        pytest.param(ToleranceNote(kind="angle", nominal_deg=60.0, upper_deg=0.1, lower_deg=-0.1), id="angle"),
        pytest.param(ToleranceNote(kind="datum", datums=("A",), faces=(4,)), id="datum"),
        pytest.param(ToleranceNote(kind="thread", thread="M8", nominal_mm=8.0, pitch_mm=1.25), id="thread"),
    ],
)
def test_stays_silent(note: ToleranceNote) -> None:
    """What the shop holds, and what has no grade."""
    assert build.ask(RULE, noted(note)) == []


def test_stays_silent_without_notes() -> None:
    """Most models carry none."""
    assert build.ask(RULE, noted()) == []


def test_the_shops_own_grade_decides() -> None:
    """A shop that holds IT 6 takes the bore that one of IT 9 remarks on."""
    assert build.ask(RULE, noted(bore(9.0), shop_=build.shop(held_it_grade=6))) == []
    assert len(build.ask(RULE, noted(bore(9.0), shop_=build.shop(held_it_grade=7)))) == 1
