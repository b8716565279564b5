import math
from dataclasses import replace

import pytest

from analyzers.model.feature import Feature
from analyzers.model.part import Part
from analyzers.rules.sharp_internal_corner import left_in_corner_mm
from tests.rules import _builders as build
from tests.rules import _solids as solids

RULE = "sharp_internal_corner"


def opening_that_leaves(left_mm: float, cutter_radius_mm: float) -> float:
    """Return the opening angle in which a cutter leaves that much: the formula of the rule, turned round."""
    return 2.0 * math.degrees(math.asin(1.0 / (1.0 + left_mm / cutter_radius_mm)))


@pytest.mark.parametrize(
    ("feature", "part"),
    [
        pytest.param(build.pocket(12.0, 0.0), solids.pocketed_block(), id="pocket"),
        pytest.param(build.pocket(12.0, 0.0), solids.moved(solids.pocketed_block()), id="turned-part"),
        pytest.param(build.slot(8.0, 12.0, corner_radius_mm=0.0, ends="flat"), solids.pocketed_block(), id="slot"),
        pytest.param(build.step(12.0, 12.0, corner_radius_mm=0.0), solids.pocketed_block(), id="step"),
    ],
)
def test_fires(feature: Feature, part: Part) -> None:
    """The 6 mm end mill, the thinnest that comes 12 mm down, leaves 3 (sqrt 2 - 1) mm."""
    if part.box_mm[0, 0] == 5.0 and abs(part.edge_tangent[0, 2]) != 1.0:
        feature = build.moved_feature(feature)
    (found,) = build.ask(RULE, build.case(feature, part=part))
    assert found.level == "error"
    assert found.measured == pytest.approx(3.0 * (math.sqrt(2.0) - 1.0))
    assert "⌀6 end mill" in found.message


@pytest.mark.parametrize(
    "feature",
    [
        pytest.param(build.pocket(12.0, 4.0), id="rounded"),
        pytest.param(build.pocket(12.0, None), id="no-corner-at-all"),
        pytest.param(build.pocket(12.0, 4.0, floor_radius_mm=0.0), id="sharp-at-the-floor-is-fine"),
        pytest.param(build.slot(6.0, 5.0), id="open-slot-has-only-floor-edges"),
        pytest.param(build.hole(), id="hole"),
    ],
)
def test_stays_silent(feature: Feature) -> None:
    """Rounded corners, and the edge between wall and floor."""
    assert build.ask(RULE, build.case(feature)) == []


@pytest.mark.parametrize(("left", "count"), [(0.1, 0), (0.1005, 1)])
def test_blunt_corner_counts_from_the_limit_on(left: float, count: int) -> None:
    """A wide-open corner in which the 6 mm cutter leaves exactly 0.1 mm is let pass."""
    part = solids.pocketed_block(opening_deg=opening_that_leaves(left, 3.0))
    assert len(build.ask(RULE, build.case(build.pocket(12.0, 0.0), part=part))) == count


def test_counts_upright_corners_only() -> None:
    """Four upright edges of twelve concave ones; the floor's edges are an end mill's own work."""
    (found,) = build.ask(RULE, build.case(build.pocket(12.0, 0.0)))
    assert "4 sharp inside corners" in found.message
    assert found.faces == (6, 7, 8, 9)


def test_suggested_radius_clears_it() -> None:
    """3 / 0.9 = 3.33, so R3.4."""
    sharp = build.pocket(12.0, 0.0)
    (found,) = build.ask(RULE, build.case(sharp))
    assert found.change is not None
    assert found.change.value == 3.4
    assert build.ask(RULE, build.case(replace(sharp, corner_radius_mm=3.4))) == []


def test_square_corner_formula() -> None:
    """Sqrt 2 - 1 of the radius stays in a square corner, nothing on a straight wall."""
    assert left_in_corner_mm(1.0, 90.0) == pytest.approx(math.sqrt(2.0) - 1.0)
    assert left_in_corner_mm(1.0, 180.0) == pytest.approx(0.0)


def test_names_a_stiffer_cutter_where_there_is_room() -> None:
    """A pocket 40 wide has room for R10: of the cutters that reach, the 16 mm one rolls in 8 / 0.9 = 8.89, so R8.9."""
    (found,) = build.ask(RULE, build.case(build.pocket(12.0, 0.0, width_mm=40.0)))
    assert "R8.9 lets in the ⌀16 end mill" in found.suggestion
    (narrow,) = build.ask(RULE, build.case(build.pocket(12.0, 0.0, width_mm=14.0)))
    assert "lets in" not in narrow.suggestion


def test_asks_for_width_where_no_cutter_goes_in() -> None:
    """1.5 mm wide and 12 deep: the thinnest that reaches is 6 mm, which wants 2 x 3.4 mm."""
    (found,) = build.ask(RULE, build.case(build.pocket(12.0, 0.0, width_mm=1.5)))
    assert "at least 6.8 mm wide with corners of R3.4" in found.suggestion
