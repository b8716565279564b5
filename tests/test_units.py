"""Lengths in millimetres and inches."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from analyzers.units import MM_PER_INCH, duration_range_text, inch_fraction, length_text, parse_length_mm, to_mm


def test_an_inch_is_25_4_mm() -> None:
    """The international inch of 1959, exact."""
    assert MM_PER_INCH == 25.4
    assert to_mm(2.0, "inch") == 50.8
    assert to_mm(2.0, "mm") == 2.0


@pytest.mark.parametrize(
    ("text", "default", "expected_mm"),
    [
        ("6", "mm", 6.0),
        ("6.", "mm", 6.0),
        (".25", "inch", 6.35),
        ("0.25", "inch", 6.35),
        ("1/4", "inch", 6.35),
        ("1/4 in", "mm", 6.35),
        ('1/4"', "mm", 6.35),
        ("1/4 inch", "mm", 6.35),
        ("1 1/2", "inch", 38.1),
        ("  1 1/2   in ", "mm", 38.1),
        ("6 mm", "inch", 6.0),
        ("6mm", "inch", 6.0),
        ("1/2", "mm", 0.5),
    ],
)
def test_text_is_read_as_a_length(text: str, default: str, expected_mm: float) -> None:
    """Decimals and fractions, with their unit or in the file's."""
    assert parse_length_mm(text, default) == pytest.approx(expected_mm, rel=1e-15)  # type: ignore[arg-type]  # a literal


@pytest.mark.parametrize(
    "text", ["", "six", "1/0", "-1", "1/2/3", "1 2", "1e3", "6 cm", "1,5", "nan", "1/4 mm in", "٣"]
)
def test_other_text_is_refused(text: str) -> None:
    """What is no length says so, with examples."""
    with pytest.raises(ValueError, match="is no length: expected for example"):
        parse_length_mm(text, "mm")


@pytest.mark.parametrize(
    ("value_mm", "unit", "expected"),
    [
        (6.6, "mm", "6.6 mm"),
        (0.1 + 0.2, "mm", "0.3 mm"),
        (12.0, "mm", "12 mm"),
        (1234.5678, "mm", "1234.568 mm"),
        (5.1054, "inch", "0.201 in"),
        (25.4, "inch", "1 in"),
        (0.0, "mm", "0 mm"),
        (-0.05, "mm", "-0.05 mm"),
        (123456.789, "mm", "123456.789 mm"),
    ],
)
def test_lengths_are_written_as_on_drawings(value_mm: float, unit: str, expected: str) -> None:
    """No trailing zeros, no exponents, no noise of binary fractions."""
    assert length_text(value_mm, unit) == expected  # type: ignore[arg-type]  # a literal


@given(st.integers(1, 64 * 40))
def test_a_binary_fraction_is_found_again(sixty_fourths: int) -> None:
    """Every multiple of 1/64 in comes back as the same fraction, in lowest terms."""
    exact = Fraction(sixty_fourths, 64)
    text = inch_fraction(float(exact) * MM_PER_INCH)
    assert text is not None
    assert sum(Fraction(part) for part in text.split()) == exact
    assert parse_length_mm(text, "inch") == pytest.approx(float(exact) * MM_PER_INCH, rel=1e-12)


@pytest.mark.parametrize("value_mm", [6.6, 10.0, 0.0, -6.35, 5.1054])
def test_other_lengths_have_no_fraction(value_mm: float) -> None:
    """Metric sizes, number drills and nothing at all are no 64ths."""
    assert inch_fraction(value_mm) is None


@given(st.floats(0.001, 10_000.0))
def test_what_is_written_is_read_again(value_mm: float) -> None:
    """A length's text means the length, to the digits it is written with."""
    assert parse_length_mm(length_text(value_mm, "mm"), "inch") == pytest.approx(value_mm, abs=0.00051)
    assert parse_length_mm(length_text(value_mm, "inch"), "mm") == pytest.approx(value_mm, abs=0.0014)


@pytest.mark.parametrize(
    ("low", "high", "shown"),
    [
        (12, 40, "12 to 40 min"),
        (45, 130, "45 min to 2 h 10 min"),
        (20.1, 20.2, "20 min"),
        (0.2, 3, "12 s to 3 min"),
        (0, 0, "0 min"),
        (1000, 70000, "17 h to 1\u202f167 h"),
    ],
)
def test_durations(low: float, high: float, shown: str) -> None:
    """Times read as people say them."""
    assert duration_range_text(low, high) == shown
