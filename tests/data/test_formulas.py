"""Formulas against worked examples. Each case says where the problem and its answer are printed (keys of the sources).

`E..` is the number of the example in the project's collection of facts; "derived" answers are arithmetic of that
collection, not of the code under test.
"""

from math import cos, exp, pi, radians

import pytest
from hypothesis import given
from hypothesis import strategies as st

from analyzers.data import formulas as f
from analyzers.data.cutter_tables import DrillPoint
from analyzers.data.cutting_tables import ForceByFeed
from analyzers.data.hole_tables import UnifiedTapDrill
from analyzers.data.rows import rows

CASES = [
    # id and source, computed, printed, relative tolerance
    ("E01 WIDIA: rpm of a 125 mm cutter at 200 m/min", f.spindle_rpm(200, 125), 509.3, 0.001),
    ("E01 WIDIA: table feed at 510 rpm, 8 teeth, 0.2 mm", f.table_feed_mm_min(510, 8, 0.2), 816, 1e-9),
    ("E02 KEYENCE: speed of 100 mm at 400 rpm", f.cutting_speed_m_min(400, 100), 125.7, 0.001),
    ("E03 KEYENCE: feed per tooth of 450 mm/min, 10 teeth, 600 rpm", f.feed_per_tooth_mm(450, 600, 10), 0.075, 1e-9),
    ("E04 KEYENCE: table feed of 0.2 mm, 8 teeth, 600 rpm", f.table_feed_mm_min(600, 8, 0.2), 960, 1e-9),
    ("E05 MITSU-M: power of face milling", f.milling_power_kw(2, 80, 280, 1800, 0.8), 1.68, 1e-9),
    ("E06 MITSU-M: rpm of 250 mm at 80 m/min", f.spindle_rpm(80, 250), 101.9, 0.001),
    ("E06 MITSU-M: feed per tooth there", f.feed_per_tooth_mm(280, f.spindle_rpm(80, 250), 12), 0.229, 0.005),
    ("E07 MITSU-T: power of turning", f.turning_power_kw(3, 0.2, 120, 3100, 0.8), 4.65, 1e-9),
    ("E08 MITSU-D: seconds for 5 holes of 30 mm", 5 * 60 * f.drilling_minutes(30, 1350, 0.2), 33.3, 0.0015),
    ("E09 MITSU-D: feed speed of a drill", f.table_feed_mm_min(1350, 1, 0.2), 270, 1e-9),
    ("E09 LZQ: speed of a 12 mm drill at 1350 rpm", f.cutting_speed_m_min(1350, 12), 50.9, 0.001),
    ("E10 LZQ: seconds for one hole", 60 * f.drilling_minutes(30, f.spindle_rpm(50, 15), 0.15), 11.3, 0.003),
    ("E11 GROOVEREX: rpm in turning", f.spindle_rpm(2.30 * 60, 200), 219.6, 0.001),
    ("E11 GROOVEREX: minutes", f.turning_minutes(700, f.spindle_rpm(138, 200), 0.32), 9.96, 0.001),
    ("E11 GROOVEREX: mm3/s removed", f.turning_rate_mm3_min(138, 0.32, 1.80) / 60, 1324.8, 0.001),
    ("E12 GROOVEREX: cone of a 12.7 mm drill, 118 degrees", f.drill_cone_mm(12.7, 118), 3.82, 0.002),
    (
        "E12 GROOVEREX: minutes to drill 60 mm with its cone",
        f.drilling_minutes(60, f.spindle_rpm(25, 12.7), 0.30, f.drill_cone_mm(12.7, 118)),
        0.339,
        0.002,
    ),
    (
        "E12 GROOVEREX: mm3/min drilled",
        f.drilling_rate_mm3_min(12.7, f.table_feed_mm_min(f.spindle_rpm(25, 12.7), 1, 0.30)),
        23812,
        0.002,
    ),
    ("E13 GROOVEREX: approach of peripheral milling", f.peripheral_approach_mm(5, 80), 19.4, 0.003),
    (
        "E13 GROOVEREX: minutes of the pass",
        f.milling_minutes(400, f.peripheral_approach_mm(5, 80), f.table_feed_mm_min(f.spindle_rpm(70, 80), 22, 0.25)),
        0.274,
        0.003,
    ),
    (
        "E13 GROOVEREX: mm3/min milled",
        f.milling_rate_mm3_min(5, 60, f.table_feed_mm_min(f.spindle_rpm(70, 80), 22, 0.25)),
        459560,
        0.003,
    ),
    ("E14 RAFORM: Rt of turning", f.turned_roughness_um(0.2, 0.8)[0], 6.25, 0.005),
    ("E14 RAFORM: Ra of turning", f.turned_roughness_um(0.2, 0.8)[1], 1.56, 0.005),
    ("E15 SCALLOP: micrometres left by a 6 mm ball", 1e3 * f.scallop_mm(6, 0.5), 10.43, 0.005),
    ("E16 SCALLOP: step for 0.005 mm", f.step_over_mm(6, 0.005), 0.346, 0.005),
    ("E17 BEAM: a solid rod", f.cutter_deflection_mm(100, 50, 10, 600, core_ratio=1.0), 0.01415, 0.001),
    ("E18 BEAM, EQDIA: an end mill", f.cutter_deflection_mm(100, 50, 10, 600), 0.03454, 0.001),
    (
        "E19 MITSU-LOC: twice the stick-out",
        f.cutter_deflection_mm(100, 100, 10, 600) / f.cutter_deflection_mm(100, 50, 10, 600),
        8,
        1e-9,
    ),
    (
        "E20 MITSU-DIA: twice the diameter",
        f.cutter_deflection_mm(100, 50, 20, 600) / f.cutter_deflection_mm(100, 50, 10, 600),
        1 / 16,
        1e-9,
    ),
    ("E21 BEAM: a wall of 4 mm", f.wall_deflection_mm(50, 40, 4, 20, 69), 0.1449, 0.001),
    ("E22 BEAM: a wall of 8 mm", f.wall_deflection_mm(50, 40, 8, 20, 69), 0.0181, 0.001),
    ("E23 ISCAR17: specific force of low alloy steel", f.specific_force_n_mm2(1775, 0.24, 0.1), 3085, 0.001),
    ("E24 ISCAR17: specific force of aluminium", f.specific_force_n_mm2(800, 0.25, 0.05), 1692, 0.001),
    ("E25 INGERSOLL: reach of a 3 mm insert", f.parting_reach_mm(3), 24, 1e-9),
    ("E26 USALLOYS: bar for 6 in", f.hot_rolled_bar(6), 6.198, 0.001),
    ("E27 BJG: edge distance of No.4-40, in", f.tapped_edge_distance(0.112, 1 / 40), 0.131, 1e-9),
    ("E28 ARITH: cone of 10 mm, 118 degrees", f.drill_cone_mm(10, 118), 3.004, 0.001),
    ("E29 CORNER: R 0.200, r 0.1875, stock 0.010", f.corner_engagement_deg(0.2, 0.1875, 0.01), 80.3, 0.005),
    ("E29 CORNER: along the straight wall", f.engagement_deg(0.01, 0.375), 18.8, 0.005),
    ("E30 CORNER: cutter as large as the corner", f.corner_engagement_deg(0.1875, 0.1875, 0.01), 108.8, 0.005),
    ("E31 CORNER: R = 1.3 r", f.corner_engagement_deg(0.24375, 0.1875, 0.01), 39.3, 0.005),
    ("E32 CORNER: a 1/4 in tool", f.corner_engagement_deg(0.2, 0.125, 0.01), 37.6, 0.005),
    ("E33 CORNER: feed of the centre", f.corner_feed_ratio(0.2, 0.1875), 0.0625, 1e-9),
    ("E34 GROOVER: kW for 100 cm3/min of aluminium", f.unit_power_kw(100_000, 0.8), 1.333, 0.001),
]


@pytest.mark.parametrize(("computed", "printed", "within"), [pytest.param(*case[1:], id=case[0]) for case in CASES])
def test_worked_example(computed: float, printed: float, within: float) -> None:
    """The formula gives what the source prints, within the digits it prints."""
    assert computed == pytest.approx(printed, rel=within)


def test_drill_cones_are_the_table_s() -> None:
    """Cone height over diameter, for each point angle of the table."""
    for row in rows(DrillPoint):
        assert f.drill_cone_mm(1.0, row.point_angle_deg) == pytest.approx(row.cone_ratio, abs=0.00006)


def test_thread_percentages_are_the_table_s() -> None:
    """(d - drill) x tpi / 1.299038 gives the percentages that the tap drill table prints, rounded to whole percents."""
    for row in rows(UnifiedTapDrill):
        for drill_in, percent in ((row.drill_75_in, row.thread_75_pct), (row.drill_50_in, row.thread_50_pct)):
            assert f.thread_percent(row.nominal_in, drill_in, row.tpi) == pytest.approx(percent, abs=0.8), row


def test_minor_diameter_of_m10() -> None:
    """ISO 724 prints D1 = 8.376 for M10 x 1.5 (KLEIN, DIN 13-1)."""
    assert f.minor_diameter_mm(10.0, 1.5) == pytest.approx(8.376, abs=0.0005)


def test_force_falls_with_the_feed_as_the_maker_prints() -> None:
    """MITSU-M: between 0.1 and 0.6 mm the exponent fitted through the ends predicts the middle within 12 %."""
    for row in rows(ForceByFeed):
        predicted = f.specific_force_n_mm2(row.kc_at_01 / 0.1**-row.fitted_exponent, row.fitted_exponent, 0.3)
        assert predicted == pytest.approx(row.kc_at_03, rel=0.12), row


def test_a_full_slot_has_the_chip_of_the_textbook() -> None:
    """At a_e = D the arc is half a turn and the mean chip 2 f_z / pi = 0.637 f_z (the mean of a sine)."""
    assert f.engagement_deg(10.0, 10.0) == pytest.approx(180.0)
    assert f.mean_chip_mm(0.1, 10.0, 10.0) == pytest.approx(0.2 / pi)


@given(st.floats(0.01, 1.0))
def test_mean_chip_is_the_mean_of_the_chips(width_ratio: float) -> None:
    """Against numerical integration of f_z sin(phi) over the arc of contact."""
    arc = radians(f.engagement_deg(width_ratio, 1.0))
    steps = 2000
    mean = sum(cos(pi / 2 - arc * (i + 0.5) / steps) for i in range(steps)) / steps
    assert f.mean_chip_mm(1.0, width_ratio, 1.0) == pytest.approx(mean, rel=1e-4)


@given(st.floats(0.5, 50.0), st.floats(0.01, 0.99))
def test_scallop_and_step_are_inverse(diameter_mm: float, share: float) -> None:
    """The step for a ridge leaves that ridge."""
    step_mm = share * diameter_mm
    assert f.step_over_mm(diameter_mm, f.scallop_mm(diameter_mm, step_mm)) == pytest.approx(step_mm, rel=1e-6)


@given(st.floats(1.0, 20.0), st.floats(0.3, 0.999), st.floats(0.01, 0.2))
def test_corner_against_a_stepped_simulation(corner_mm: float, ratio: float, stock_ratio: float) -> None:
    """The arc found by looking along the cutter's edge, point by point, where it lies outside the rough corner."""
    cutter_mm = corner_mm * ratio
    stock_mm = min(stock_ratio * cutter_mm, 0.5 * corner_mm)
    orbit, rough, points = corner_mm - cutter_mm, corner_mm - stock_mm, 20_000
    turns = (2.0 * pi * i / points for i in range(points // 2))
    cut = sum((orbit + cutter_mm * cos(turn)) ** 2 + (cutter_mm**2 * (1 - cos(turn) ** 2)) > rough**2 for turn in turns)
    simulated_deg = cut / points * 360.0
    most_deg = 90.0 + f.engagement_deg(stock_mm, 2 * cutter_mm)
    assert f.corner_engagement_deg(corner_mm, cutter_mm, stock_mm) == pytest.approx(
        min(simulated_deg, most_deg), abs=0.05
    )


def test_a_cutter_too_large_for_the_corner_has_no_arc() -> None:
    """It does not get in; that is said, not computed."""
    with pytest.raises(ValueError, match="expected at most"):
        f.corner_engagement_deg(3.0, 4.0, 0.1)
    with pytest.raises(ValueError, match="expected at most"):
        f.corner_engagement_deg(3.0, 2.0, 3.5)


@pytest.mark.parametrize("clearance", [1.0, 1.05, 1.1, 1.2, 1.5, 2.0, 4.0])
def test_a_smaller_cutter_wraps_less(clearance: float) -> None:
    """The arc of contact falls steadily as the corner grows past the cutter: why shops ask for a larger corner."""
    here = f.corner_engagement_deg(3.0 * clearance, 3.0, 0.2)
    wider = f.corner_engagement_deg(3.0 * clearance * 1.05, 3.0, 0.2)
    assert f.engagement_deg(0.2, 6.0) < wider < here


def test_kienzle_is_a_power_law() -> None:
    """At 1 mm chip thickness the force is kc1; each factor e in thickness divides it by e to the mc."""
    assert f.specific_force_n_mm2(1500.0, 0.25, 1.0) == 1500.0
    assert f.specific_force_n_mm2(1500.0, 0.25, exp(1.0)) == pytest.approx(1500.0 * exp(-0.25))
    assert f.cutting_force_n(f.specific_force_n_mm2(1500.0, 0.25, 1.0), 2.0, 0.5) == 1500.0
