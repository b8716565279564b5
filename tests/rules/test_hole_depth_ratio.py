from dataclasses import replace

import pytest

from analyzers.model.feature import Feature
from tests.rules import _builders as build

RULE = "hole_depth_ratio"


@pytest.mark.parametrize(
    ("depth", "level", "limit"),
    [(41.0, "note", 8.0), (50.1, "warning", 10.0), (150.1, "error", 30.0)],
)
def test_fires(depth: float, level: str, limit: float) -> None:
    """Past 8, 10 and 30 diameters."""
    (found,) = build.ask(RULE, build.case(build.hole(5.0, depth)))
    assert (found.level, found.limit) == (level, limit)
    assert found.measured == pytest.approx(depth / 5.0)
    assert found.faces == (20,)


@pytest.mark.parametrize(
    "hole",
    [
        pytest.param(build.hole(5.0, 20.0), id="four-diameters"),
        pytest.param(build.hole(5.0, 40.0), id="exactly-eight"),
        pytest.param(build.hole(5.0, None), id="depth-not-measured"),
        pytest.param(build.pocket(60.0), id="not-a-hole"),
    ],
)
def test_stays_silent(hole: Feature) -> None:
    """Within the limit, at it, without a depth, or no hole at all."""
    assert build.ask(RULE, build.case(hole)) == []


def test_exactly_ten_diameters_is_only_the_milder_limit() -> None:
    """The limit itself is allowed, so the peck cycle speaks."""
    assert build.levels(build.ask(RULE, build.case(build.hole(5.0, 50.0)))) == ["note"]


def test_suggested_diameter_clears_it() -> None:
    """60 mm deep wants 6 mm for ten diameters; with it the warning is gone."""
    deep = build.hole(5.0, 60.0)
    (found,) = build.ask(RULE, build.case(deep))
    assert found.change is not None
    assert (found.change.field, found.change.value) == ("diameter_mm", 6.0)
    assert "⌀6 at this depth, or ↧50" in found.suggestion
    changed = replace(deep, diameter_mm=found.change.number)
    assert "warning" not in build.levels(build.ask(RULE, build.case(changed)))


def test_through_hole_is_told_of_both_sides() -> None:
    """Twelve diameters through are six from each side."""
    (found,) = build.ask(RULE, build.case(build.hole(5.0, 60.0, through=True, bottom="through")))
    assert "both sides" in found.suggestion
    assert "↧" not in found.suggestion
    assert found.alternatives == ()


def test_shop_may_set_its_own_limit() -> None:
    """A shop with long drills raises the bar."""
    assert build.levels(build.ask(RULE, build.case(build.hole(5.0, 60.0)), deep=15.0)) == ["note"]
