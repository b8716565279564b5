from dataclasses import replace

import pytest

from analyzers.model.feature import Feature
from tests.rules import _builders as build

RULE = "hole_beyond_drill_reach"


@pytest.mark.parametrize("through", [True, False])
def test_fires(through: bool) -> None:
    """The 5 mm drill reaches 100 mm."""
    deep = build.hole(5.0, 120.0, through=through, bottom="through" if through else "conical")
    (found,) = build.ask(RULE, build.case(deep))
    assert build.told(found) == ("warning", 120.0, 100.0)
    assert ("both sides" in found.suggestion) is through
    assert build.ask(RULE, build.case(replace(deep, depth_mm=100.0))) == []


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
