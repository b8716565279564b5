"""Finest ISO 286 grade that a dimension of the model asks for."""

from collections.abc import Iterator

from analyzers.data.note_grades import grade_asked
from analyzers.measures._notes import at_note, none_of
from analyzers.model.geometry import Geometry
from analyzers.model.measure import Measure
from analyzers.model.report import Facts


def measure(facts: Facts, geometry: Geometry) -> Iterator[Measure]:  # noqa: ARG001 - every measure is asked the same way
    """Yield the lowest grade that keeps every dimension with limits: 7 for a 10 mm hole with 0.015 between limits.

    4 stands for 4 or finer: the table begins at 5 (ISO 286-1). Form and place have no grade.
    """
    grades = [(grade, each) for each in facts.tolerances if (grade := grade_asked(each)) is not None]
    if not grades:
        yield none_of(facts, "finest_tolerance_grade", "none of the model's tolerances limits a size up to 500 mm")
        return
    grade, note = min(grades, key=lambda each: each[0])
    yield at_note(facts, "finest_tolerance_grade", float(grade), note)
