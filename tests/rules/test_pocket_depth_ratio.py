from dataclasses import replace

import pytest

from analyzers.model.feature import Feature
from tests.rules import _builders as build

RULE = "pocket_depth_ratio"


@pytest.mark.parametrize(
    ("feature", "level", "measured", "limit"),
    [
        pytest.param(build.pocket(16.0, 2.5), "note", 3.2, 3.0, id="over-three"),
        pytest.param(build.pocket(20.0, 2.4), "error", 20.0, 6.0, id="only-the-2-mm-cutter-fits-and-is-short"),
        pytest.param(build.pocket(36.0, 3.5, width_mm=40.0), "error", 36.0, 25.0, id="the-6-mm-cutters-are-short"),
        pytest.param(build.pocket(38.0, 8.0, width_mm=8.0), "warning", 4.75, 4.0, id="narrow-pocket-counts-its-width"),
        pytest.param(build.step(24.8, 12.0, corner_radius_mm=3.0), "warning", 24.8 / 6, 4.0, id="step"),
    ],
)
def test_fires(feature: Feature, level: str, measured: float, limit: float) -> None:
    """Slender for the cutter, or out of its reach."""
    shop = build.shop(cutters=(*build.CUTTERS, build.end_mill(5.0, 18.0)))
    (found,) = build.ask(RULE, build.case(feature, shop_=shop))
    assert build.told(found) == (level, pytest.approx(measured), limit)


@pytest.mark.parametrize(
    "feature",
    [
        pytest.param(build.pocket(12.0, 4.0), id="comfortable"),
        pytest.param(build.pocket(18.0, 3.0), id="exactly-three"),
        pytest.param(build.pocket(None, 3.0), id="depth-not-measured"),
        pytest.param(build.pocket(40.0, None), id="no-inside-corner"),
        pytest.param(build.pocket(40.0, 0.0), id="sharp-is-another-rule"),
        pytest.param(build.hole(3.0, 60.0), id="not-a-pocket"),
    ],
)
def test_stays_silent(feature: Feature) -> None:
    """Within the limit, at it, not measured, or another rule's business."""
    assert build.ask(RULE, build.case(feature)) == []


def test_exactly_at_the_reach_is_reached() -> None:
    """The longest 6 mm cutter comes down 25 mm."""
    found = build.ask(RULE, build.case(build.pocket(25.0, 3.0)))
    assert build.levels(found) == ["warning"]


def test_suggested_radius_lets_in_a_cutter_that_reaches() -> None:
    """36 mm: the 10 mm end mill reaches 40 and rolls in 5 / 0.9 = 5.56, so 5.6."""
    deep = build.pocket(36.0, 3.5, width_mm=40.0)
    (found,) = build.ask(RULE, build.case(deep))
    assert found.change is not None
    assert (found.change.field, found.change.value) == ("corner_radius_mm", 5.6)
    changed = replace(deep, corner_radius_mm=found.change.number)
    assert "error" not in build.levels(build.ask(RULE, build.case(changed)))


def test_too_narrow_for_larger_corners_asks_for_less_depth() -> None:
    """8 mm wide: the corners cannot grow, 4 x 8 mm of depth are left."""
    narrow = build.pocket(38.0, 4.0, width_mm=8.0)
    (found,) = build.ask(RULE, build.case(narrow, shop_=build.shop(cutters=(build.end_mill(8.0, 60.0),))))
    assert found.change is not None
    assert (found.change.field, found.change.value) == ("depth_mm", 32.0)


def test_what_goes_right_through_is_judged_by_the_half_that_is_cut_from_either_end() -> None:
    """40 mm through with R3: the longest ⌀6 cutter comes down 25 mm, so 20 mm from either end, 3.3 times its ⌀6."""
    (found,) = build.ask(RULE, build.case(build.pocket(40.0, 3.0, through=True)))
    assert build.told(found) == ("note", pytest.approx(20.0 / 6.0), 3.0)
    assert "half from either end" in found.message
    assert found.change is not None
    assert [each.field for each in (found.change, *found.alternatives)] == ["corner_radius_mm"]


def test_what_goes_right_through_is_not_asked_to_be_shallower() -> None:
    """60 mm through are too deep for ⌀6 from both ends; the part is as thick as it is."""
    (found,) = build.ask(RULE, build.case(build.pocket(60.0, 3.0, through=True)))
    assert found.level == "error"
    assert "buy an end mill that reaches 60 mm" in found.suggestion.lower()
    assert "depth_mm" not in [each.field for each in (found.change, *found.alternatives) if each]


def test_a_step_that_is_cut_across_is_not_judged_along() -> None:
    """800 mm of a step's run are no depth where the plan mills it from above."""
    along = replace(build.step(800.0, 100.0, through=True, corner_radius_mm=10.0), direction=(1.0, 0.0, 0.0))
    assert build.levels(build.ask(RULE, build.case(along))) == ["error"]  # no setup has it
    across = build.plan((build.setup("S1", ("F1",)),))
    assert build.ask(RULE, build.case(along, plan_=across)) == []
    turned = build.plan((build.setup("S1", ("F1",), indexed=((-1.0, 0.0, 0.0),)),))
    assert build.levels(build.ask(RULE, build.case(along, plan_=turned))) == ["error"]
