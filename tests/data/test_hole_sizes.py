"""What a hole is for: the most plausible use first, near misses named, the other unit system last."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from analyzers.data.hole_catalogue import drill_sizes, standard_holes
from analyzers.data.hole_sizes import nearest_drill, plausible_uses, uses_in_model
from analyzers.data.hole_tables import IsoClearance, MetricTapDrill, UnifiedTapDrill
from analyzers.data.rows import keys, rows, sources
from analyzers.model.tolerance_note import ToleranceNote
from analyzers.tolerance import STANDARD_SIZE_MM
from analyzers.units import UnitSystem

IN = 25.4


@pytest.mark.parametrize(
    ("diameter_mm", "depth_mm", "through", "units", "first"),
    [
        pytest.param(6.6, 20.0, True, "mm", "clearance for M6, medium fit", id="6.6-through"),
        pytest.param(3.4, 6.0, True, "mm", "clearance for M3, medium fit", id="3.4-through"),
        pytest.param(13.5, 20.0, True, "mm", "clearance for M12, medium fit", id="13.5-through"),
        pytest.param(6.4, 20.0, True, "mm", "clearance for M6, fine fit", id="6.4-through"),
        pytest.param(5.0, 12.0, True, "mm", "tap drill M6", id="5-through"),
        pytest.param(5.0, 12.0, False, "mm", "tap drill M6", id="5-blind"),
        pytest.param(3.3, 8.0, False, "mm", "tap drill M4", id="3.3-blind"),
        pytest.param(6.8, 16.0, False, "mm", "tap drill M8", id="6.8-blind"),
        pytest.param(4.917, 12.0, False, "mm", "M6 drawn at its inside diameter", id="minor-diameter"),
        pytest.param(6.0, 10.0, False, "mm", "dowel pin 6, reamed H7", id="6-blind"),
        pytest.param(6.006, 10.0, False, "mm", "dowel pin 6, reamed H7", id="6-at-the-middle-of-H7"),
        pytest.param(8.8, 15.0, False, "mm", "tap drill M10x1.25", id="8.8-blind"),
        pytest.param(11.8, 15.0, False, "mm", "drill for pipe thread G 1/4", id="11.8-blind"),
        pytest.param(0.201 * IN, 9.0, True, "inch", "clearance for No.10 screw, free fit", id="No.7-through"),
        pytest.param(0.201 * IN, 9.0, False, "inch", "tap drill 1/4-20 UNC (75 % thread)", id="No.7-blind"),
        pytest.param(0.2812 * IN, 9.0, True, "inch", "clearance for 1/4 screw, normal fit", id="9/32-through"),
        pytest.param(9 / 32 * IN, 9.0, True, "inch", "clearance for 1/4 screw, normal fit", id="9/32-exact"),
        pytest.param(0.136 * IN, 9.0, False, "inch", "tap drill No.8-32 UNC (69 % thread)", id="No.29-blind"),
        pytest.param(0.25 * IN, 9.0, False, "inch", "dowel pin 1/4 in, reamed for a press fit", id="1/4-blind"),
        pytest.param(0.2497 * IN, 9.0, False, "inch", "dowel pin 1/4 in, reamed for a press fit", id="press-fit"),
        pytest.param(27 / 64 * IN, 20.0, False, "inch", "tap drill 1/2-13 UNC (78 % thread)", id="27/64-blind"),
        pytest.param(34.0, 20.0, True, "mm", "drill 34 mm", id="a-rare-screw-is-no-reason"),
        pytest.param(12.5, 30.0, False, "mm", "tap drill M14x1.5", id="an-odd-size-has-one"),
        pytest.param(30.0, 30.0, False, "mm", "drill 30 mm", id="a-size-from-memory-is-no-reason"),
        pytest.param(4.0, 4.0, True, "mm", "dowel pin 4, reamed H7", id="4-through"),
        pytest.param(4.0, 3.9, True, "mm", "drill 4 mm", id="too-thin-for-a-pin"),
        pytest.param(2.8, 3.0, True, "mm", "drill 2.8 mm", id="2.8-through"),
    ],
)
def test_the_first_use_is_the_machinist_s(
    diameter_mm: float, depth_mm: float, through: bool, units: UnitSystem, first: str
) -> None:
    """What one would say at the counter, from the tables of the named standards."""
    assert plausible_uses(diameter_mm, depth_mm, through, units)[0].text == first


def test_a_number_seven_drill_has_both_uses() -> None:
    """0.201 in: free fit of a No.10 screw by the handbooks, tap drill of 1/4-20, and the drill's own name."""
    uses = plausible_uses(0.201 * IN, 9.0, True, "inch")
    assert [use.use for use in uses] == ["clearance", "tap_drill", "drill"]
    assert [use.fastener for use in uses] == ["No.10", "1/4-20", ""]
    assert [use.standard for use in uses] == ["machinists' handbooks", "ASME B1.1", "ASME B94.11M"]
    assert [use.src for use in uses] == ["TAPCHART", "BDW;TAPCHART", "BDW"]
    assert {use.prov for use in uses} == {"seen"}


def test_five_millimetres_has_three_uses() -> None:
    """M6 tap drill before a 5 mm dowel before the clearance of the rare M4.5."""
    texts = [use.text for use in plausible_uses(5.0, 12.0, True, "mm")]
    assert texts.index("tap drill M6") < texts.index("dowel pin 5, reamed H7")
    assert texts.index("dowel pin 5, reamed H7") < texts.index("clearance for M4.5, medium fit")


@pytest.mark.parametrize(
    ("depth_mm", "plausible"),
    [pytest.param(5.9, False, id="too-shallow"), pytest.param(6.0, True, id="one-diameter"),
     pytest.param(24.0, True, id="four-diameters"), pytest.param(24.1, False, id="too-deep")],
)  # fmt: skip
def test_a_thread_wants_depth(depth_mm: float, plausible: bool) -> None:
    """A blind 5 mm hole is an M6 tap hole first only from one to four diameters deep."""
    assert (plausible_uses(5.0, depth_mm, False, "mm")[0].text == "tap drill M6") == plausible


def test_a_near_miss_is_named_with_its_amount() -> None:
    """5.05 mm is no standard size: it says what it nearly is and by how much, from a source that was seen."""
    last = plausible_uses(5.05, 12.0, True, "mm")[-1]
    assert (last.use, last.text) == ("none", "no standard size: 0.05 mm larger than tap drill M6")
    assert last.off_mm == pytest.approx(0.05)
    assert (last.diameter_mm, last.fastener, last.prov) == (5.0, "M6", "seen")


@pytest.mark.parametrize(
    ("off_mm", "standard"),
    [(0.0, True), (STANDARD_SIZE_MM - 1e-6, True), (STANDARD_SIZE_MM + 1e-6, False), (-STANDARD_SIZE_MM - 1e-6, False)],
)
def test_the_tolerance_of_a_size(off_mm: float, standard: bool) -> None:
    """Up to the rounding of inch tables a size is meant; beyond it is another (6.6 has no drill of 0.05 beside it)."""
    uses = plausible_uses(6.6 + off_mm, 20.0, True, "mm")
    assert any(use.text == "clearance for M6, medium fit" for use in uses) == standard
    assert any(use.use == "none" for use in uses) != standard


def test_inches_in_an_inch_drawing_miss_in_thousandths() -> None:
    """The amount is given in the drawing's units."""
    last = plausible_uses(0.4 * IN, 9.0, True, "inch")[-1]
    assert last.text == "no standard size: 0.003 in larger than clearance for 3/8 screw, free fit"


def test_far_from_everything_the_nearest_drill_is_named() -> None:
    """63.2 mm: no fastener is near, the next drill is 63."""
    (only,) = plausible_uses(63.2, 30.0, True, "mm")
    assert only.text == "no standard size: 0.2 mm larger than drill 63 mm"


def test_larger_than_any_drill_is_bored() -> None:
    """No drill of 113 mm is stocked, and nobody expects one."""
    (only,) = plausible_uses(113.0, 30.0, True, "mm")
    assert only.use == "bored"
    assert only.text == "bored: larger than the largest stock drill (100 mm)"


def test_an_inch_screw_in_a_metric_drawing() -> None:
    """At 0.201 in to the last digit the inch uses are likelier than a metric drill; at 5.1 mm the metric drill is.

    The inch drill itself is no use in a metric drawing.
    """
    exact = plausible_uses(0.201 * IN, 9.0, True, "mm")
    assert exact[0].text == "clearance for No.10 screw, free fit"
    assert not [use for use in exact if use.text == "drill No.7"]
    metric = plausible_uses(5.1, 9.0, True, "mm")
    assert metric[0].text == "drill 5.1 mm"
    assert any(use.text == "clearance for No.10 screw, free fit" for use in metric)


def test_a_thread_drawn_anywhere_within_its_limits_is_likelier_than_an_inch_screw_nearby() -> None:
    """4.976 mm in a metric drawing: M6 at 6H (4.917 to 5.153), and only 0.0024 beside the No.8 hole of 0.196 in."""
    first, second = plausible_uses(4.976, 9.0, True, "mm")[:2]
    assert (first.fastener, second.fastener) == ("M6", "No.8")


@pytest.mark.parametrize(
    ("diameter_mm", "units", "slip"),
    [
        pytest.param(4.9759, "mm", False, id="inside-M6"),
        pytest.param(5.1156, "mm", False, id="inside-M6-near-its-upper-limit"),
        pytest.param(2.1565, "mm", False, id="inside-diameter-of-No.4-40"),
        pytest.param(5.05, "mm", True, id="typed-although-inside-M6"),
        pytest.param(2.65, "mm", True, id="typed-although-inside-No.6-32"),
        pytest.param(13.6402, "mm", True, id="inside-no-thread"),
        pytest.param(0.26 * IN, "inch", True, id="typed-in-thousandths"),
    ],
)
def test_a_size_that_nobody_types_is_no_slip_inside_a_thread(diameter_mm: float, units: UnitSystem, slip: bool) -> None:
    """Sizes of published parts: the first three come from threads that their authors' programs drew."""
    assert (plausible_uses(diameter_mm, 12.0, True, units)[-1].use == "none") == slip


def test_sizes_from_memory_say_so() -> None:
    """What was not read in a source may suggest only; the minor diameter's limits and metric stock drills are such."""
    uses = {use.text.split(" (")[0]: use.prov for use in plausible_uses(5.1, 12.0, True, "mm")}
    assert uses["drill 5.1 mm"] == "memory"
    assert uses["M6 drawn within its inside limits 6H"] == "memory"


@pytest.mark.parametrize("diameter_mm", [0.0, -1.0, float("nan")])
def test_a_hole_has_a_diameter(diameter_mm: float) -> None:
    """Anything else is a fault of the caller."""
    with pytest.raises(ValueError, match="expected more than 0"):
        plausible_uses(diameter_mm, 10.0, True, "mm")


@given(st.floats(0.1, 200.0), st.none() | st.floats(0.1, 300.0), st.booleans(), st.sampled_from(["mm", "inch"]))
def test_every_hole_gets_an_answer(
    diameter_mm: float, depth_mm: float | None, through: bool, units: UnitSystem
) -> None:
    """Never empty, each use once, each with known sources; a use that is not "none" is the size or lies in its band."""
    uses = plausible_uses(diameter_mm, depth_mm, through, units)
    assert uses
    assert len({use.text for use in uses}) == len(uses)
    for use in uses:
        assert all(key in sources() for key in keys(use.src))
        if use.use != "none":
            assert abs(use.off_mm) <= STANDARD_SIZE_MM + 1e-9 or use.use in ("thread_minor", "pipe_tap_drill"), use


def test_every_clearance_hole_is_recognised() -> None:
    """Each through hole of ISO 273, as printed, has its own screw among its uses."""
    for row in rows(IsoClearance):
        uses = plausible_uses(row.medium_mm, 10.0, True, "mm")
        assert any(use.text == f"clearance for {row.screw}, medium fit" for use in uses), row


def test_every_tap_drill_is_recognised() -> None:
    """Each blind hole of the tap drill tables has its own thread among its uses."""
    for row in rows(MetricTapDrill):
        uses = plausible_uses(row.drill_mm, row.nominal_mm * 2.0, False, "mm")
        assert any(use.fastener == row.thread for use in uses), row
    for each in rows(UnifiedTapDrill):
        uses = plausible_uses(each.drill_75_in * IN, each.nominal_in * IN * 2.0, False, "inch")
        assert any(use.fastener == each.thread for use in uses), each


@pytest.mark.parametrize(
    ("diameter_mm", "units", "drill", "off_mm"),
    [(5.03, "mm", "drill 5 mm", 0.03), (14.1, "mm", "drill 14 mm", 0.1), (6.35, "inch", "drill 1/4 in", 0.0),
     (0.2 * IN, "inch", "drill No.8", 0.001 * IN), (150.0, "mm", "drill 100 mm", 50.0)],
)  # fmt: skip
def test_the_nearest_drill(diameter_mm: float, units: UnitSystem, drill: str, off_mm: float) -> None:
    """Of the drawing's own system, with the difference."""
    use = nearest_drill(diameter_mm, units)
    assert use.text == drill
    assert use.off_mm == pytest.approx(off_mm, abs=1e-9)


def test_the_catalogue_is_in_order_and_whole() -> None:
    """Sizes ascend; drills of both systems are there; no size is nothing."""
    sizes = [hole.diameter_mm for hole in standard_holes()]
    assert sizes == sorted(sizes)
    assert min(sizes) > 0.0
    assert {drill.system for drill in drill_sizes()} == {"mm", "inch"}
    assert len(drill_sizes()) == 305 + 112 + 106


# --- what the model itself names ------------------------------------------------------------------------------------

THREAD = ToleranceNote(kind="thread", thread="M8×1.25-6H", pitch_mm=1.25)
FIT = ToleranceNote(kind="diameter", nominal_mm=7.3, fit="H7")
SIZE = ToleranceNote(kind="diameter", nominal_mm=7.3, upper_mm=0.1, lower_mm=-0.1, zone_mm=0.2)


@pytest.mark.parametrize(
    ("diameter_mm", "note", "use", "text"),
    [
        (6.8, THREAD, "threaded", "thread M8×1.25-6H, as the model says"),
        (7.3, THREAD, "threaded", "thread M8×1.25-6H, as the model says"),
        (7.3, FIT, "fitted", "fit ⌀7.3 H7, as the model says"),
    ],
)
def test_what_the_model_names_comes_first(diameter_mm: float, note: ToleranceNote, use: str, text: str) -> None:
    """And an odd size is nothing to remark on: the thread or fit explains it."""
    found = uses_in_model(diameter_mm, 16.0, False, "mm", (note,))
    assert (found[0].use, found[0].text) == (use, text)
    assert "none" not in {each.use for each in found}
    assert found[1:] == tuple(each for each in plausible_uses(diameter_mm, 16.0, False, "mm") if each.use != "none")


@pytest.mark.parametrize("notes", [(), (SIZE,)])
def test_without_thread_or_fit_the_size_alone_speaks(notes: tuple[ToleranceNote, ...]) -> None:
    """Limits say how exact a hole is, not what it is for."""
    assert uses_in_model(7.3, 16.0, False, "mm", notes) == plausible_uses(7.3, 16.0, False, "mm")
