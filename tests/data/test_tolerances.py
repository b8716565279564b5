"""Looking up tolerances: the bounds of the steps belong below."""

import pytest

from analyzers.data.tolerances import general_deviation_mm, grade_of, standard_tolerance_um


@pytest.mark.parametrize(
    ("nominal_mm", "grade", "expected_um"),
    [(3.0, 7, 10.0), (3.001, 7, 12.0), (6.0, 7, 12.0), (10.0, 7, 15.0), (18.0, 7, 18.0), (30.0, 7, 21.0),
     (500.0, 7, 63.0), (500.1, 7, None), (0.0, 7, None), (10.0, 4, None), (400.0, 8, 89.0)],
)  # fmt: skip
def test_standard_tolerance(nominal_mm: float, grade: int, expected_um: float | None) -> None:
    """ISO 286-1 (PRESSFIT), at the bounds and beyond the table."""
    assert standard_tolerance_um(nominal_mm, grade) == expected_um


@pytest.mark.parametrize(
    ("nominal_mm", "tolerance_um", "expected"),
    [(10.0, 15.0, 7), (10.0, 14.9, 6), (10.0, 21.9, 7), (10.0, 22.0, 8), (10.0, 5000.0, 13), (10.0, 5.9, None),
     (600.0, 50.0, None)],
)  # fmt: skip
def test_the_grade_a_tolerance_demands(nominal_mm: float, tolerance_um: float, expected: int | None) -> None:
    """The coarsest grade that still fits inside."""
    assert grade_of(nominal_mm, tolerance_um) == expected


@pytest.mark.parametrize(
    ("nominal_mm", "tolerance_class", "expected_mm"),
    [(0.5, "m", 0.1), (0.49, "m", None), (3.0, "m", 0.1), (6.0, "m", 0.1), (6.1, "m", 0.2), (30.0, "m", 0.2),
     (120.0, "c", 0.8), (120.1, "c", 1.2), (2000.0, "f", 0.5), (2001.0, "f", None), (400.0, "v", 2.5)],
)  # fmt: skip
def test_general_tolerances(nominal_mm: float, tolerance_class: str, expected_mm: float | None) -> None:
    """ISO 2768-1 (ISO2768TXT), at the bounds and beyond the table."""
    assert general_deviation_mm(nominal_mm, tolerance_class) == expected_mm  # type: ignore[arg-type]  # a literal
