import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from analyzers.model.inch_text import inch_callout, inch_number
from analyzers.report import quantity


@pytest.mark.parametrize(
    ("callout", "inches"),
    [
        ("⌀12.7 THRU", "⌀0.500 THRU"),
        ("⌀25.4 ↧50.8 ⌵⌀38.1 × 90°", "⌀1.000 ↧2.000 ⌵⌀1.500 × 90°"),
        ("25.4 × 12.7 ↧2.54 R1.27", "1.000 × 0.500 ↧0.100 R0.050"),
        ("2.54 × 45°", "0.100 × 45°"),
        ("? × 12.7", "? × 0.500"),
        ("1 × 59.5°", "0.0394 × 59.5°"),
    ],
)
def test_callout_in_inches(callout: str, inches: str) -> None:
    """Lengths are divided by 25.4, angles and words stay."""
    assert inch_callout(callout) == inches


@pytest.mark.parametrize(
    ("said", "inches"),
    [
        ("wall of 2.54 mm", "wall of 0.100 in"),
        ("a ⌀12.7 mm drill", "a ⌀0.500 in drill"),
        ("⌀12.7 is 8 diameters deep", "⌀0.500 is 8 diameters deep"),
        ("box 25.4 × 50.8 mm", "box 1.000 × 2.000 in"),
        ("R2.54 or larger", "R0.100 or larger"),
        ("25.4 mm² left", "0.03937 in² left"),
        ("thread M6 in 3 holes at 90°", "thread M6 in 3 holes at 90°"),
        ("cut at 120 m/min and 300 mm/min", "cut at 120 m/min and 300 mm/min"),
    ],
)
def test_sentence_in_inches(said: str, inches: str) -> None:
    """Every length in a sentence follows the unit switch; counts, angles, threads and speeds do not."""
    html = str(quantity.sentence(said))
    shown = _only(html, "in")
    assert shown == inches
    assert _only(html, "mm") == said


@pytest.mark.parametrize(
    "callout",
    [
        pytest.param("76.2 × 50.8 ↧12.7 R5.08", id="pocket"),
        pytest.param("76.2 × 50.8 THRU R5.08", id="opening"),
        pytest.param("12.7 × 25.4 ↧5.08", id="slot"),
        pytest.param("12.7 ↧5.08", id="step"),
        pytest.param("25.4 × 12.7 ↥5.08", id="boss"),
        pytest.param("⌀25.4 ↥5.08", id="round-boss"),
        pytest.param("⌀25.4 2.54 ↧1.27", id="groove"),
        pytest.param("⌀25.4 × 50.8", id="turned"),
        pytest.param("2.54 × 45°", id="chamfer"),
        pytest.param("⌀6.35 ↧25.4 ⌵⌀12.7 × 90°", id="countersink"),
        pytest.param("⌀6.35 THRU ⌴⌀12.7 ↧5.08", id="counterbore"),
        pytest.param("R2.54", id="fillet"),
    ],
)
def test_callouts_follow_the_switch_within_a_sentence(callout: str) -> None:
    """Whatever a feature is called on a drawing, it reads the same in a sentence as in a table."""
    said = f"3 features {callout}, {callout} at M6×1 ↧12 and 8 in a row: 1/4-20 UNC"
    inches = inch_callout(callout)
    html = str(quantity.sentence(said))
    assert _only(html, "mm") == said
    assert _only(html, "in") == f"3 features {inches}, {inches} at M6×1 ↧0.4724 and 8 in a row: 1/4-20 UNC"


@pytest.mark.parametrize(
    ("said", "mm"),
    [
        ("Floor 0.05 in to 0.06 in: clears it", "Floor 1.27 mm to 1.524 mm: clears it"),
        ("Boden 0,05 in", "Boden 1,27 mm"),
        ("0.002 in larger than No. 7", "0.051 mm larger than No. 7"),
        ("8 in a row", "8 in a row"),
    ],
)
def test_what_is_said_in_inches_follows_the_switch_too(said: str, mm: str) -> None:
    """Of a part drawn in inches some sentences name inches."""
    html = str(quantity.sentence(said))
    assert _only(html, "mm") == mm
    assert _only(html, "in") == said


def _only(html: str, unit: str) -> str:
    other = "mm" if unit == "in" else "in"
    html = re.sub(rf'<span class="{other}">.*?</span>', "", html)
    return re.sub(r"<[^>]+>", "", html)


def test_sentence_escapes() -> None:
    """A sentence that carries a tag shows the tag's text."""
    assert "<b>" not in quantity.sentence("<b>3 mm</b>")


def test_unmeasured_is_said_in_words() -> None:
    """A missing number reads "not measured", never 0."""
    assert "not measured" in quantity.length(None)


@given(st.floats(1e-9, 1e7))
def test_no_length_shows_as_zero(value: float) -> None:
    """A length above zero is never shown as zero, in either unit."""
    assert float(quantity.mm_number(value)) > 0
    assert float(inch_number(value)) > 0


@given(st.floats(0.01, 1e6))
def test_shown_length_is_the_length(value: float) -> None:
    """What is shown is within a micrometre, or 0.0001 inch, of the value."""
    assert float(quantity.mm_number(value)) == pytest.approx(value, abs=0.000501)
    assert float(inch_number(value)) == pytest.approx(value / 25.4, abs=0.0000501)
