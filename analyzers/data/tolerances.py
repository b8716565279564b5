"""Looks up tolerances: ISO 286 grades and the general tolerances of ISO 2768-1."""

from typing import Literal

from analyzers.data.rows import rows
from analyzers.data.tolerance_tables import GeneralLinear, ToleranceGrade


def standard_tolerance_um(nominal_mm: float, grade: int) -> float | None:
    """Return the standard tolerance of a nominal size (ISO 286-1), micrometres; None outside the table.

    The bounds of a step belong to the step below: 10 mm is of "over 6 up to 10".

    >>> standard_tolerance_um(10.0, 7), standard_tolerance_um(10.1, 7), standard_tolerance_um(10.0, 14)
    (15.0, 18.0, None)
    """
    for row in rows(ToleranceGrade):
        if row.grade == grade and row.over_mm < nominal_mm <= row.to_mm:
            return row.tolerance_um
    return None


def grade_of(nominal_mm: float, tolerance_um: float) -> int | None:
    """Return the coarsest grade that a tolerance (upper minus lower limit) demands; None where even IT 5 is coarser.

    A tolerance wider than grade 13 is grade 13 here: nothing is made dearer by it.

    >>> grade_of(10.0, 15.0), grade_of(10.0, 20.0), grade_of(10.0, 1.0)
    (7, 7, None)
    """
    held = [
        row.grade
        for row in rows(ToleranceGrade)
        if row.over_mm < nominal_mm <= row.to_mm and row.tolerance_um <= tolerance_um
    ]
    return max(held, default=None)


def general_deviation_mm(nominal_mm: float, tolerance_class: Literal["f", "m", "c", "v"]) -> float | None:
    """Return the deviation each way that ISO 2768-1 allows a length without a tolerance; None outside the table.

    >>> general_deviation_mm(30.0, "m"), general_deviation_mm(30.1, "m"), general_deviation_mm(0.3, "m")
    (0.2, 0.3, None)
    """
    for row in rows(GeneralLinear):
        lowest = row.over_mm <= nominal_mm if row.over_mm == 0.5 else row.over_mm < nominal_mm
        if row.tolerance_class == tolerance_class and lowest and nominal_mm <= row.to_mm:
            return row.deviation_mm
    return None
