"""Values of the tables against what the named sources print, typed in here one by one in the source's own unit.

The tables were copied by a program that renamed and split columns; these values were not.
"""

from typing import Any

import pytest

from analyzers.data import cutter_tables, cutting_tables, hole_tables, stock_tables, tolerance_tables
from analyzers.data.rows import Row, rows

H, C, K, T, S = hole_tables, cutter_tables, cutting_tables, tolerance_tables, stock_tables

VALUES: list[tuple[type[Row], dict[str, Any], dict[str, Any], str]] = [
    # ISO 273 (KLEIN; FCHOLE)
    (H.IsoClearance, {"screw": "M3"}, {"fine_mm": 3.2, "medium_mm": 3.4, "coarse_mm": 3.6}, "KLEIN"),
    (H.IsoClearance, {"screw": "M5"}, {"fine_mm": 5.3, "medium_mm": 5.5, "coarse_mm": 5.8}, "KLEIN"),
    (H.IsoClearance, {"screw": "M6"}, {"fine_mm": 6.4, "medium_mm": 6.6, "coarse_mm": 7.0}, "KLEIN"),
    (H.IsoClearance, {"screw": "M12"}, {"fine_mm": 13.0, "medium_mm": 13.5, "coarse_mm": 14.5}, "KLEIN"),
    (H.IsoClearance, {"screw": "M16"}, {"fine_mm": 17.0, "medium_mm": 17.5, "coarse_mm": 18.5}, "FCHOLE"),
    (H.IsoClearance, {"screw": "M64"}, {"fine_mm": 66.0, "medium_mm": 70.0, "coarse_mm": 74.0}, "FCHOLE"),
    # ASME B18.2.8 (BDW; FCHOLE)
    (H.AsmeClearance, {"screw": "No.4"}, {"close_in": 0.12, "normal_in": 0.1285, "loose_in": 0.144}, "FCHOLE"),
    (H.AsmeClearance, {"screw": "No.10"}, {"close_drill": "No.5", "normal_drill": "No.2", "loose_drill": "B"}, "BDW"),
    (H.AsmeClearance, {"screw": "1/4"}, {"close_in": 0.2656, "normal_in": 0.2812, "loose_in": 0.2969}, "BDW"),
    # older inch practice (TAPCHART)
    (H.HandbookClearance, {"screw": "No.10"}, {"close_drill": "No.9", "free_drill": "No.7"}, "TAPCHART"),
    (H.HandbookClearance, {"screw": "No.10"}, {"close_in": 0.196, "free_in": 0.201}, "TAPCHART"),
    (H.HandbookClearance, {"screw": "1/4"}, {"close_drill": "F", "free_drill": "H"}, "TAPCHART"),
    # ISO 2306 (FCHOLE)
    (H.MetricTapDrill, {"thread": "M3"}, {"pitch_mm": 0.5, "drill_mm": 2.5, "minor_min_mm": 2.459}, "FCHOLE"),
    (H.MetricTapDrill, {"thread": "M6"}, {"pitch_mm": 1.0, "drill_mm": 5.0, "minor_min_mm": 4.917}, "FCHOLE"),
    (H.MetricTapDrill, {"thread": "M8"}, {"pitch_mm": 1.25, "drill_mm": 6.8}, "FCHOLE"),
    (H.MetricTapDrill, {"thread": "M12"}, {"pitch_mm": 1.75, "drill_mm": 10.2}, "FCHOLE"),
    (H.MetricTapDrill, {"thread": "M10x1.25"}, {"drill_mm": 8.8, "series": "fine"}, "FCHOLE"),
    (H.MetricTapDrill, {"thread": "M1"}, {"drill_mm": 0.75, "minor_max_mm": None}, "FCHOLE"),
    # ASME B1.1 (BDW; TAPCHART)
    (H.UnifiedTapDrill, {"thread": "1/4-20"}, {"drill_75": "No.7", "drill_75_in": 0.201, "tpi": 20.0}, "TAPCHART"),
    (H.UnifiedTapDrill, {"thread": "No.10-24"}, {"drill_75": "No.25", "drill_75_in": 0.1495}, "TAPCHART"),
    (H.UnifiedTapDrill, {"thread": "3/8-16"}, {"drill_75": "5/16", "drill_50": "Q"}, "TAPCHART"),
    # pipe threads
    (H.PipeTapDrill, {"thread": "NPT", "size": "1/4", "src": "NPT1"}, {"drill": "7/16", "drill_mm": 11.11}, "NPT1"),
    (H.PipeTapDrill, {"thread": "G (BSPP)", "size": "1/8"}, {"drill_mm": 8.8, "minor_min_mm": 8.566}, "FCHOLE"),
    (H.PipeTapDrill, {"thread": "G (BSPP)", "size": "1/4"}, {"drill_mm": 11.8, "minor_max_mm": 11.89}, "FCHOLE"),
    # drills
    (H.NumberLetterDrill, {"size": "No.7"}, {"diameter_in": 0.201, "series": "number"}, "BDW"),
    (H.NumberLetterDrill, {"size": "No.10"}, {"diameter_in": 0.1935}, "TAPCHART"),
    (H.NumberLetterDrill, {"size": "No.80"}, {"diameter_in": 0.0135}, "BDW"),
    (H.NumberLetterDrill, {"size": "F"}, {"diameter_in": 0.257, "series": "letter"}, "BDW"),
    (H.FractionDrill, {"size": "1 3/4"}, {"diameter_mm": 44.45}, "ARITH"),
    (H.MetricDrill, {"diameter_mm": 6.0}, {"preference": "A"}, "MEM"),
    # counterbores, countersinks
    (H.MetricCounterbore, {"screw": "M3"}, {"bore_mm": 6.5, "depth_mm": 3.4}, "KLEIN"),
    (H.MetricCounterbore, {"screw": "M6"}, {"bore_mm": 11.0, "depth_mm": 6.4, "head_height_mm": 6.0}, "KLEIN"),
    (H.MetricCounterbore, {"screw": "M8"}, {"bore_mm": 15.0, "depth_mm": 8.6}, "KLEIN"),
    (H.MetricCounterbore, {"screw": "M36"}, {"bore_mm": 58.0, "depth_mm": 37.0}, "KLEIN"),
    (H.InchCounterbore, {"screw": "No.10"}, {"head_diameter_in": 0.312, "inhouse_bore_in": 0.348}, "EI-CBORE"),
    (H.InchCounterbore, {"screw": "No.0"}, {"handbook_bore_in": 0.125, "inhouse_bore_in": None}, "MEM"),
    (
        H.Countersink,
        {"screw": "M6", "standard": "ISO 10642 (socket, 90 deg)"},
        {"diameter_mm": 13.71, "head_diameter_mm": 13.44, "angle_deg": 90.0},
        "KLEIN",
    ),
    (H.Countersink, {"screw": "M5", "angle_deg": 90.0, "diameter_mm": 10.4}, {"head_diameter_mm": 10.4}, "KLEIN"),
    (
        H.Countersink,
        {"screw": "No.10", "standard": "ASME B18.6.3 flat (82 deg)"},
        {"diameter_mm": 9.77, "head_diameter_mm": 9.779},  # 0.385 in
        "BOSL2",
    ),
    # dowels and reamers
    (H.DowelPin, {"nominal_mm": 6.0}, {"pin_low_um": 4.0, "pin_high_um": 12.0, "hole_high_um": 12.0}, "PIN1"),
    (H.DowelPin, {"nominal_mm": 6.0}, {"length_min_mm": 14.0, "length_max_mm": 60.0}, "PIN1"),
    (H.DowelPin, {"nominal_mm": 10.0}, {"hole_depth_min_mm": 15.0, "hole_depth_max_mm": 20.0}, "PIN1"),
    (H.InchDowelPin, {"size": "1/4"}, {"pin_low_in": 0.2501, "hole_low_in": 0.2495}, "PININCH1"),
    (H.Reamer, {"nominal_mm": 8.0}, {"hole_upper_um": 15.0, "hole_max_mm": 8.015}, "MEM"),
    # thread run-out DIN 76-2
    (H.ThreadRunOut, {"pitch_mm": 1.25}, {"normal_mm": 6.2, "short_mm": 3.9, "long_mm": 10.0}, "KLEIN"),
    (H.DeepHoleClass, {"from_ratio": 10.0}, {"to_ratio": 20.0, "name": "general deep hole"}, "UNISIG"),
    (H.EdgeDistance, {"unit": "in", "bolt": 1.125}, {"edge_distance": 1.5, "ratio": 1.33}, "AISC360"),
    # cutters
    (C.MetricEndMill, {"diameter_mm": 6.0}, {"carbide_short_mm": 10.0, "hss_long_mm": 24.0}, "MEM"),
    (C.InchEndMill, {"size": "1/4"}, {"stub_in": 0.375, "regular_in": 0.75, "extra_long_in": 1.5}, "MEM"),
    (C.DrillPoint, {"point_angle_deg": 118.0}, {"cone_ratio": 0.3004}, "ARITH"),
    (C.TSlot, {"slot_width_mm": 10.0}, {"cutter_diameter_mm": 18.0, "cutter_width_mm": 8.0}, "MEM"),
    (C.Woodruff, {"key": "404"}, {"width_in": 0.125, "diameter_in": 0.5}, "MEM"),
    (C.Keyway, {"width_mm": 8.0}, {"key_height_mm": 7.0, "hub_depth_mm": 3.3}, "BDW"),
    (C.ThreadMill, {"thread": "M6"}, {"cutter_diameter_mm": 4.5, "hole_mm": 5.0}, "MEM"),
    (C.ThreadUndercut, {"pitch_mm": 1.0}, {"below_nominal_mm": 1.6, "width_min_mm": 2.1}, "MEM"),
    # materials and cutting
    (K.MaterialData, {"id": "6061-T6"}, {"density_kg_m3": 2700.0, "kc1_n_mm2": 800.0, "mc": 0.25}, "ISCAR17"),
    (K.MaterialData, {"id": "304"}, {"kc1_n_mm2": 2150.0, "mc": 0.2, "carbide_high_m_min": 110.0}, "ISCAR17"),
    (K.MaterialData, {"id": "POM"}, {"kc1_n_mm2": None, "feed_unit": "mm", "feed_high": 0.2}, "CURBELL"),
    (K.MaterialData, {"id": "6061-T6"}, {"feed_low": 0.005, "feed_high": 0.01, "feed_unit": "D"}, "TUNGALOY"),
    (K.Kienzle, {"group": "6"}, {"kc1_n_mm2": 1775.0, "mc": 0.24}, "ISCAR17"),
    (K.Kienzle, {"group": "38"}, {"kc1_n_mm2": 4600.0, "mc": None}, "ISCAR17"),
    (K.ForceByFeed, {"material": "mild steel"}, {"kc_at_01": 2200.0, "kc_at_06": 1580.0}, "MITSU-M"),
    (K.UnitPower, {"material": "carbon steel", "hardness_hb": "150-200"}, {"energy_j_mm3": 1.6}, "GROOVER"),
    (
        K.CuttingSpeed,
        {"operation": "plastics milling", "material": "acetal"},
        {"low_m_min": 280.0, "high_m_min": 500.0},
        "CURBELL",
    ),
    # tolerances
    (T.ToleranceGrade, {"over_mm": 18.0, "grade": 7}, {"tolerance_um": 21.0}, "PRESSFIT"),
    (T.ToleranceGrade, {"over_mm": 50.0, "grade": 13}, {"tolerance_um": 460.0}, "ISOFITS"),
    (T.GeneralLinear, {"tolerance_class": "m", "over_mm": 30.0}, {"deviation_mm": 0.3}, "ISO2768TXT"),
    (T.GeneralLinear, {"tolerance_class": "f", "over_mm": 6.0}, {"deviation_mm": 0.1}, "ISO2768TXT"),
    (T.GeneralEdge, {"tolerance_class": "m", "over_mm": 6.0}, {"deviation_mm": 1.0, "to_mm": None}, "ISO2768WEB"),
    (
        T.GeneralGeometry,
        {"characteristic": "straightness/flatness", "tolerance_class": "K", "over_mm": 100.0},
        {"tolerance_mm": 0.4},
        "ISO2768K",
    ),
    (T.ProcessFinish, {"process": "reaming"}, {"best_um": 0.8, "worst_um": 3.1}, "CALQ"),
    (T.ProcessGrade, {"process": "reaming"}, {"best_grade": 6, "worst_grade": 10}, "MEM"),
    # stock
    (S.StockSize, {"form": "round bar", "size": 1.25}, {"unit": "in", "width": None}, "MEM"),
    (S.StockSize, {"width": 25.0, "size": 10.0}, {"unit": "mm"}, "MEM"),
    (S.HotRolledAllowance, {"over_in": 2.0}, {"per_side_in": 0.125, "to_in": 2.5}, "AISI86"),
    (S.ToolSteelAllowance, {"over_in": 5.0, "width_to_in": 9.0}, {"per_side_in": 0.19}, "DIEHL"),
]


@pytest.mark.parametrize(("table", "where", "expected", "source"), VALUES)
def test_value_is_the_source_s(table: type[Row], where: dict[str, Any], expected: dict[str, Any], source: str) -> None:
    """The row is there once, says what its source says, and names it."""
    found = [row for row in rows(table) if all(getattr(row, name) == value for name, value in where.items())]
    assert len(found) == 1
    assert {name: getattr(found[0], name) for name in expected} == expected
    assert source in found[0].src


def test_there_are_sixty_values_and_more() -> None:
    """The number the tables are to be compared in."""
    assert sum(len(expected) for _, _, expected, _ in VALUES) >= 60


def test_a_number_and_letter_drill_is_the_same_in_both_units() -> None:
    """25.4 times the inch column is the millimetre column, to its last digit (independent of how it was copied)."""
    for row in rows(H.NumberLetterDrill):
        assert row.diameter_mm == pytest.approx(row.diameter_in * 25.4, abs=0.00051), row


def test_minor_diameters_follow_from_the_thread() -> None:
    """D1 = d - 1.082532 P (ISO 68-1) for each of the metric threads, to the last digit."""
    for row in rows(H.MetricTapDrill):
        assert row.minor_min_mm == pytest.approx(row.nominal_mm - 1.0825318 * row.pitch_mm, abs=0.00051), row
        assert row.minor_max_mm is None or row.minor_min_mm < row.drill_mm + 0.03 <= row.minor_max_mm + 0.03, row


def test_grades_follow_the_formula_of_iso_286() -> None:
    """IT 6 to 13 are 10, 16, 25, 40, 64, 100, 160, 250 times i = 0.45 D^(1/3) + 0.001 D, at the geometric mean D.

    ISO 286-1:1988, annex A (formula from memory, table seen): the table is this formula, rounded, mostly upwards, to
    whole micrometres or coarser: within 8 % or one micrometre. The step to 3 mm lies above it (10 for 8.7 at IT 7) and
    is left out.
    """
    factors = {6: 10.0, 7: 16.0, 8: 25.0, 9: 40.0, 10: 64.0, 11: 100.0, 12: 160.0, 13: 250.0}
    checked = 0
    for row in rows(T.ToleranceGrade):
        if row.grade in factors and row.over_mm > 0.0:
            mean_mm = (row.over_mm * row.to_mm) ** 0.5
            unit_um = 0.45 * mean_mm ** (1.0 / 3.0) + 0.001 * mean_mm
            assert row.tolerance_um == pytest.approx(factors[row.grade] * unit_um, rel=0.08, abs=1.0), row
            checked += 1
    assert checked == 12 * 8


def test_clearance_holes_grow_with_the_fit_and_the_screw() -> None:
    """Fine < medium < coarse, each wider than the screw, each screw's wider than the last one's."""
    last = 0.0
    for row in rows(H.IsoClearance):
        assert row.nominal_mm < row.fine_mm < row.medium_mm < row.coarse_mm
        assert row.medium_mm > last
        last = row.medium_mm


def test_counterbores_hold_the_head() -> None:
    """A bore is wider than the screw's head and at least as deep as it is high."""
    for row in rows(H.MetricCounterbore):
        assert row.depth_mm > row.head_height_mm == float(row.screw.removeprefix("M")), row
    for each in rows(H.InchCounterbore):
        assert each.handbook_bore_in > each.head_diameter_in, each
