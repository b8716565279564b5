"""Counterbores and countersinks find their screw."""

import pytest

from analyzers.data.screw_heads import SINK_OVER_HEAD_MM, counterbore_uses, countersink_uses

IN = 25.4


def test_the_counterbore_of_din_974() -> None:
    """6.6 through, 11 wide, 6.4 deep is M6 to DIN 974-1 (KLEIN)."""
    (use,) = counterbore_uses(6.6, 11.0, 6.4, "mm")
    assert use.text == "counterbore for M6 socket head cap screw"
    assert (use.standard, use.fastener, use.prov, use.src) == ("DIN 974-1", "M6", "seen", "KLEIN;FCCB;HOLESIZES")


@pytest.mark.parametrize(
    ("depth_mm", "proud"),
    [
        (6.4, ""),
        (6.0, ""),
        (5.9, "; its head stands out by 0.1 mm"),
        (3.0, "; its head stands out by 3 mm"),
        (None, ""),
    ],
)
def test_a_shallow_counterbore_lets_the_head_stand_out(depth_mm: float | None, proud: str) -> None:
    """The head of ISO 4762 is as high as its thread is wide."""
    (use,) = counterbore_uses(6.6, 11.0, depth_mm, "mm")
    assert use.text == f"counterbore for M6 socket head cap screw{proud}"


def test_another_bore_is_no_counterbore_of_the_table() -> None:
    """11.5 mm belongs to no socket head cap screw."""
    assert counterbore_uses(6.6, 11.5, 6.4, "mm") == ()


def test_an_inch_bore_from_memory_says_so() -> None:
    """3/8 for No.10 is the handbooks' bore, which nobody looked up; the maker's 0.348 was seen (EI-CBORE)."""
    (memory,) = counterbore_uses(0.201 * IN, 0.375 * IN, 0.19 * IN, "inch")
    (seen,) = counterbore_uses(0.201 * IN, 0.348 * IN, 0.19 * IN, "inch")
    assert (memory.fastener, memory.prov) == ("No.10", "memory")
    assert (seen.fastener, seen.prov) == ("No.10", "seen")


def test_the_countersink_of_m4() -> None:
    """9.4 at 90 degrees over 4.5: ISO 7721 heads (ISO 15065) at the size, ISO 10642 within the usual margin."""
    uses = countersink_uses(4.5, 9.4, 90.0, "mm")
    assert [use.fastener for use in uses] == ["M4", "M4"]
    assert uses[0].off_mm == 0.0
    assert uses[0].standard.startswith("ISO 7721")


def test_the_countersink_of_a_no_10_screw() -> None:
    """0.385 in at 82 degrees (ASME B18.6.3, BOSL2)."""
    (use,) = countersink_uses(0.221 * IN, 0.385 * IN, 82.0, "inch")
    assert use.text == "countersink for No.10 flat head screw, 82°"


@pytest.mark.parametrize(
    ("sink_mm", "angle_deg", "found"),
    [
        pytest.param(12.6, 90.0, True, id="at-the-size"),
        pytest.param(12.6 + SINK_OVER_HEAD_MM - 1e-6, 90.0, True, id="as-wide-as-is-usual"),
        pytest.param(12.6 + SINK_OVER_HEAD_MM + 1e-6, 90.0, False, id="wider"),
        pytest.param(12.5, 90.0, False, id="narrower"),
        pytest.param(12.6, 82.0, False, id="another-angle"),
        pytest.param(12.6, 100.0, False, id="aircraft-angle"),
    ],
)
def test_size_and_angle_decide(sink_mm: float, angle_deg: float, found: bool) -> None:
    """ISO 15065 has 12.6 for M6."""
    uses = countersink_uses(6.6, sink_mm, angle_deg, "mm")
    assert any(use.fastener == "M6" and use.standard.startswith("ISO 7721") for use in uses) == found


def test_the_screw_that_passes_the_hole_comes_first() -> None:
    """A 20 mm bore serves M12; 20 mm at 90 degrees M10: whatever else fits, the screw that passes is first."""
    assert counterbore_uses(13.5, 20.0, None, "mm")[0].fastener == "M12"
    assert countersink_uses(11.0, 20.0, 90.0, "mm")[0].fastener == "M10"
    assert countersink_uses(0.531 * IN, 0.875 * IN, 82.0, "inch")[0].fastener == "1/2"


@pytest.mark.parametrize(("hole_mm", "found"), [(9.0, False), (11.99, True), (12.0, True), (13.5, True)])
def test_a_screw_that_does_not_pass_the_hole_has_no_head_there(hole_mm: float, found: bool) -> None:
    """A bore of 20 mm holds the head of M12 (DIN 974-1), but M12 does not go through a 9 mm hole."""
    uses = counterbore_uses(hole_mm, 20.0, 13.0, "mm")
    assert any(use.fastener == "M12" for use in uses) == found
