"""Against published worked examples (rows E01 to E16 of the table of worked examples) and laws of growth."""

from dataclasses import replace
from math import inf
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from analyzers.plan import rates as module
from analyzers.plan.rates import MOVING_SHARE, POSITION_MIN, Rates
from analyzers.settings import Cutter, Machine, Material
from tests.plan._builders import drill, end_mill, example, machine

MATERIALS = {each.id: each for each in example().shop.materials}
MILLS = [each for each in example().shop.cutters if each.kind == "flat"]
DRILLS = [each for each in example().shop.cutters if each.kind == "drill"]


def rates(material: Material | None = None, on: Machine | None = None) -> Rates:
    """Return the rates of the example shop."""
    return Rates(on or machine(max_rpm=50_000.0), material or example().material, example().shop)


def material(**changes: object) -> Material:
    """Return the example material with some values replaced."""
    return replace(example().material, **changes)  # type: ignore[arg-type]  # names are the material's


# --- worked examples ------------------------------------------------------------------------------------------------


def test_spindle_and_table_feed() -> None:
    """E01 (WIDIA): vc 200 m/min, D 125, fz 0.2, z 8: 509.3 rpm (printed 510), 814.9 mm/min exact (816 with 510)."""
    cutter = end_mill(125.0, 200.0, flutes=8)
    found = rates(material(cutting_speed_m_min=200.0, feed_per_tooth_ratio=0.2 / 125.0))
    assert found.rpm(cutter) == pytest.approx(509.3, rel=0.003)
    assert found.table_feed_mm_min(cutter) == pytest.approx(814.9, rel=0.003)


def test_drilling_five_holes() -> None:
    """E08, E09 (MITSU-D, LZQ): D 12 at 1350 rpm and 0.2 mm a turn, 30 deep, five holes: 33.3 s."""
    at = rates(material(cutting_speed_hss_m_min=50.9, feed_per_tooth_ratio=0.2 / 12.0 / 2.0))
    tool = replace(drill(12.0, 60.0), point_angle_deg=180.0)  # the example counts no approach
    assert at.rpm(tool) == pytest.approx(1350.0, rel=0.001)
    assert 5.0 * 60.0 * (at.drilling_minutes(tool, 30.0) - POSITION_MIN) == pytest.approx(33.3, rel=0.002)


def test_drilling_one_hole_in_alloy_steel() -> None:
    """E10 (LZQ): D 15, 30 deep, vc 50, 0.15 mm a turn: 11.3 s."""
    at = rates(material(cutting_speed_hss_m_min=50.0, feed_per_tooth_ratio=0.15 / 15.0 / 2.0))
    tool = replace(drill(15.0, 60.0), point_angle_deg=180.0)
    assert 60.0 * (at.drilling_minutes(tool, 30.0) - POSITION_MIN) == pytest.approx(11.3, rel=0.003)


def test_turning_is_limited_by_power() -> None:
    """E07 (MITSU-T): ap 3, f 0.2, vc 120, kc 3100, eta 0.8 take 4.65 kW, so 4.65 kW turn 72 cm3 a minute."""
    lathe = machine(kind="lathe", power_kw=4.65, efficiency_ratio=0.8, max_rpm=1e6)
    at = rates(material(cutting_speed_m_min=1e6, kc1_n_mm2=3100.0 * 0.2**0.25, mc=0.25), lathe)
    minutes = at.turning_minutes(72_000.0, 0.0, 100.0) * MOVING_SHARE
    assert minutes == pytest.approx(1.0, rel=0.001)


def test_milling_is_limited_by_power() -> None:
    """E05 (MITSU-M): 2 x 80 x 280 mm3 a minute at kc 1800 and eta 0.8 take 1.68 kW; so many kW clear no more."""
    mill = machine(power_kw=1.68, efficiency_ratio=0.8, max_rpm=1e6, max_feed_mm_min=1e9)
    cutter = end_mill(80.0, 100.0, flutes=10)
    fast = material(cutting_speed_m_min=1e4, kc1_n_mm2=1800.0, mc=1e-12)
    assert rates(fast, mill).roughing_mm3_min(cutter, 1.0) / MOVING_SHARE == pytest.approx(44_800.0, rel=0.001)


def test_ball_nose_passes_leave_the_ridge_asked_for() -> None:
    """E16 (SCALLOP): D 6 with ridges of 0.005 mm steps 0.346 mm."""
    shop = replace(example().shop, scallop_height_mm=0.005)
    at = Rates(machine(), example().material, shop)
    ball = end_mill(6.0, 40.0, "ball", flutes=2)
    step = 1000.0 / (at.surface_minutes(ball, 1000.0) * at.table_feed_mm_min(ball) * MOVING_SHARE)
    assert step == pytest.approx(0.346, rel=0.005)


def test_a_longer_stick_out_slows_by_its_cube() -> None:
    """E19 (MITSU-LOC): twice as long bends eight times as far, so where bending limits, an eighth is cleared."""
    cutter = end_mill(4.0, 100.0)
    at = rates(material(kc1_n_mm2=5000.0))
    assert at.roughing_mm3_min(cutter, 80.0) / at.roughing_mm3_min(cutter, 40.0) == pytest.approx(1.0 / 8.0)


def test_without_a_cutting_force_nothing_limits_but_speed() -> None:
    """Plastics have no published force: reach and power take nothing away."""
    soft = replace(MATERIALS["POM"], cutting_speed_m_min=200.0)
    assert soft.kc1_n_mm2 is None
    weak = machine(power_kw=0.001, max_rpm=50_000.0)
    assert rates(soft, weak).roughing_mm3_min(MILLS[3], 60.0) == rates(soft).roughing_mm3_min(MILLS[3], 1.0)


# --- laws -----------------------------------------------------------------------------------------------------------

mills = st.sampled_from(MILLS)
lengths = st.floats(0.5, 200.0)
ratios = st.floats(1.0, 5.0)
every_material = st.sampled_from(sorted(MATERIALS))


@given(mills, every_material, lengths, ratios, st.floats(1.0, 1e6))
def test_more_depth_or_volume_never_takes_less(
    cutter: Cutter, name: str, depth: float, more: float, volume: float
) -> None:
    """Clearing and finishing grow with the depth reached down to and with what is removed."""
    at = rates(MATERIALS[name])
    slack = 1.0 + 1e-12
    assert at.roughing_minutes(cutter, volume, depth) <= at.roughing_minutes(cutter, volume, depth * more) * slack
    assert at.roughing_minutes(cutter, volume, depth) <= at.roughing_minutes(cutter, volume * more, depth) * slack
    assert at.wall_minutes(cutter, volume, depth) <= at.wall_minutes(cutter, volume, depth * more) * slack
    assert at.floor_minutes(cutter, volume) <= at.floor_minutes(cutter, volume * more) * slack


@given(st.sampled_from(DRILLS), every_material, lengths, ratios)
def test_a_deeper_hole_never_takes_less(tool: Cutter, name: str, depth: float, more: float) -> None:
    """Below three diameters by its length, beyond by its pecks as well."""
    at = rates(MATERIALS[name])
    assert at.drilling_minutes(tool, depth) <= at.drilling_minutes(tool, depth * more) * (1.0 + 1e-12)


@given(mills, lengths, ratios, ratios)
def test_a_harder_material_never_takes_less(cutter: Cutter, depth: float, slower: float, harder: float) -> None:
    """Less speed and more force each make every operation longer."""
    soft = material()
    hard = material(cutting_speed_m_min=soft.cutting_speed_m_min / slower, kc1_n_mm2=(soft.kc1_n_mm2 or 0.0) * harder)
    slack = 1.0 + 1e-12
    for minutes in ("roughing_minutes", "wall_minutes"):
        before = getattr(rates(soft), minutes)(cutter, 1000.0, depth)
        assert before <= getattr(rates(hard), minutes)(cutter, 1000.0, depth) * slack
    assert rates(soft).surface_minutes(end_mill(6.0, 30.0, "ball"), 100.0) <= (
        rates(hard).surface_minutes(end_mill(6.0, 30.0, "ball"), 100.0) * slack
    )
    assert rates(soft).turning_minutes(1000.0, 100.0, 30.0) <= rates(hard).turning_minutes(1000.0, 100.0, 30.0) * slack


@given(mills, st.floats(0.1, 50.0), lengths)
def test_a_weaker_machine_never_takes_less(cutter: Cutter, power: float, depth: float) -> None:
    """Power and speed of the spindle only ever limit."""
    strong, weak = machine(power_kw=power, max_rpm=20_000.0), machine(power_kw=power / 2.0, max_rpm=5_000.0)
    assert rates(on=strong).roughing_mm3_min(cutter, depth) >= rates(on=weak).roughing_mm3_min(cutter, depth)


def test_every_rate_is_finite_in_every_material() -> None:
    """No material of the example shop makes a time of zero or for ever."""
    for name in MATERIALS:
        for cutter in MILLS:
            assert 0.0 < rates(MATERIALS[name]).roughing_minutes(cutter, 100.0, 5.0) < inf


def test_shares_without_a_source_say_so() -> None:
    """Each constant of the time model names its source, or says that it has none."""
    lines = [line for line in Path(module.__file__).read_text(encoding="utf-8").splitlines() if ": Final = " in line]
    assert len(lines) > 10
    said = ("common practice", "judgement", "key ", "example", "as for steel")
    assert [line for line in lines if not any(each in line for each in said)] == []
