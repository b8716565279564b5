from dataclasses import replace

import pytest

from analyzers.model.feature import Feature
from analyzers.model.plan import Unmade
from analyzers.rules import judge_all
from tests.rules import _builders as build

RULE = "hole_beyond_drill_reach"


@pytest.mark.parametrize("through", [True, False])
def test_fires(through: bool) -> None:
    """The 5 mm drill reaches 100 mm."""
    deep = build.hole(5.0, 120.0, through=through, bottom="through" if through else "conical")
    (found,) = build.ask(RULE, build.case(deep))
    assert build.told(found) == ("warning", 120.0, 100.0)
    assert ("both sides" in found.suggestion) is through
    assert ("no deeper" in found.suggestion) is not through  # a through hole is as deep as the part is thick
    assert "depth_mm" not in [each.field for each in (found.change, *found.alternatives) if each] or not through
    assert build.ask(RULE, build.case(replace(deep, depth_mm=100.0))) == []


UNMADE = build.plan(unmade=(Unmade(feature="F1", why="120 mm deep, the ⌀5 drill reaches 100 mm"),))


def test_a_hole_that_stays_unmade_is_an_error_and_told_once() -> None:
    """The shallower hole, the longer drill: what the plan's own words say is not said again by another rule."""
    found, _ = judge_all(build.case(build.hole(5.0, 120.0), plan_=UNMADE), {RULE, "unmade_feature"})
    assert [(each.rule, *build.told(each)) for each in found] == [(RULE, "error", 120.0, 100.0)]


@pytest.mark.parametrize(
    "hole",
    [
        pytest.param(build.hole(5.0, 100.0), id="exactly-at-the-reach"),
        pytest.param(build.hole(4.0, 120.0), id="no-drill-of-that-size"),
        pytest.param(build.hole(5.0, None), id="depth-not-measured"),
    ],
)
def test_stays_silent(hole: Feature) -> None:
    """Within reach, or not this rule's."""
    assert build.ask(RULE, build.case(hole)) == []
