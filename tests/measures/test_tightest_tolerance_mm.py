"""The narrowest tolerance in the model."""

from dataclasses import replace

import pytest

from analyzers.model.report import Facts
from analyzers.model.tolerance_note import ToleranceNote
from tests.measures._shapes import box, featured, hole, loaded, taken

NAME = "tightest_tolerance_mm"
BLOCK = box((0, 0, 0), (60, 40, 20))
BORE = ToleranceNote(kind="diameter", nominal_mm=20.0, upper_mm=0.05, lower_mm=-0.1, zone_mm=0.15, faces=(0,))
FLAT = ToleranceNote(kind="flatness", zone_mm=0.02, faces=(5,))
ANGLE = ToleranceNote(kind="angle", nominal_deg=60.0, upper_deg=0.5, lower_deg=-0.5, faces=(1,))
BASIC = ToleranceNote(kind="length", nominal_mm=30.0, use="theoretical", faces=(2,))
THREAD = ToleranceNote(kind="thread", thread="M8×1.25", faces=(0,))


def noted(*notes: ToleranceNote) -> Facts:
    """Return a block's facts with these notes."""
    return replace(loaded(BLOCK)[0], tolerances=notes)


def test_the_narrowest_zone_wins_whatever_it_limits() -> None:
    """A flatness of 0.02 before 0.15 between limits, at its face."""
    geometry = loaded(BLOCK)[1]
    answer = taken(NAME, noted(BORE, ANGLE, BASIC, FLAT), geometry)
    assert (answer.value, answer.faces, answer.feature) == (0.02, (5,), None)
    assert answer.point_mm is not None


def test_the_feature_on_the_faces_is_named() -> None:
    """The first feature that the note's faces belong to."""
    facts, geometry = loaded(BLOCK)
    bored = featured(facts, replace(hole(facts.part, (0, 0, 0), (0, 0, 0)), faces=(0,)))
    assert taken(NAME, replace(bored, tolerances=(BORE,)), geometry).feature == "F1"


@pytest.mark.parametrize(
    ("notes", "why"),
    [
        pytest.param((), "the model carries no semantic tolerances", id="nothing"),
        pytest.param((BASIC, THREAD), "the model carries no semantic tolerances", id="nothing-with-limits"),
        pytest.param((ANGLE,), "the model's tolerances are all of angles", id="angles-only"),
    ],
)
def test_what_is_not_there_is_no_problem(notes: tuple[ToleranceNote, ...], why: str) -> None:
    """No number, the reason, and not a failure."""
    answer = taken(NAME, noted(*notes), loaded(BLOCK)[1])
    assert (answer.value, answer.applies, answer.why_none) == (None, False, why)
