"""The finest grade that a dimension in the model asks for."""

from dataclasses import replace

import pytest

from analyzers.measures._notes import NO_NOTES
from analyzers.model.tolerance_note import NoteKind, ToleranceNote
from tests.measures._shapes import box, loaded, taken

NAME = "finest_tolerance_grade"
BLOCK = box((0, 0, 0), (60, 40, 20))


def size(nominal: float, zone: float, kind: NoteKind = "diameter", fit: str = "") -> ToleranceNote:
    """Return a dimension with its tolerance split evenly."""
    half = zone / 2
    return ToleranceNote(
        kind=kind, nominal_mm=nominal, upper_mm=half, lower_mm=-half, zone_mm=zone, fit=fit, faces=(1,)
    )


@pytest.mark.parametrize(
    ("note", "grade"),
    [
        pytest.param(size(25.0, 0.021), 7.0, id="IT7-of-18-to-30-is-21-um"),
        pytest.param(size(25.0, 0.0209), 6.0, id="just-finer"),
        pytest.param(size(12.5, 0.0105, "radius"), 7.0, id="a-radius-by-its-diameter"),
        pytest.param(size(25.0, 0.3), 12.0, id="coarse: IT12-of-18-to-30-is-210-um"),
        pytest.param(size(25.0, 0.001), 4.0, id="finer-than-the-table"),
        pytest.param(size(25.0, 0.033, fit="F8"), 8.0, id="a-fit-says-its-grade"),
    ],
)
def test_grade_is_that_of_iso_286(note: ToleranceNote, grade: float) -> None:
    """Standard tolerances of ISO 286-1:2010, table 1; the finest note decides, wherever it stands."""
    facts, geometry = loaded(BLOCK)
    coarse = size(25.0, 2.0, "length")
    for notes in ((note, coarse), (coarse, note)):
        answer = taken(NAME, replace(facts, tolerances=notes), geometry)
        assert (answer.value, answer.faces) == (grade, (1,))


@pytest.mark.parametrize(
    ("notes", "why"),
    [
        pytest.param((), NO_NOTES, id="nothing"),
        pytest.param(
            (ToleranceNote(kind="flatness", zone_mm=0.01, faces=(2,)),),
            "none of the model's tolerances limits a size up to 500 mm",
            id="form-has-no-grade",
        ),
        pytest.param(
            (size(800.0, 0.1),), "none of the model's tolerances limits a size up to 500 mm", id="above-the-table"
        ),
    ],
)
def test_what_is_not_there_is_no_problem(notes: tuple[ToleranceNote, ...], why: str) -> None:
    """No number, the reason, and not a failure."""
    facts, geometry = loaded(BLOCK)
    answer = taken(NAME, replace(facts, tolerances=notes), geometry)
    assert (answer.value, answer.applies, answer.why_none) == (None, False, why)
