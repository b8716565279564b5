import math
from dataclasses import replace
from typing import Any

import pytest

from analyzers.model.arrays import Vec
from analyzers.rules._base import Case
from tests.rules import _builders as build

RULE = "slanted_direction"


def tilted(angle: float) -> Vec:
    """Return a direction that far from the vertical."""
    return (math.sin(math.radians(angle)), 0.0, math.cos(math.radians(angle)))


def with_setup(direction: Vec, **machine: Any) -> Case:
    """Return a case with a setup from above and one along a direction."""
    plan = build.plan((build.setup("S1", ("F1",)), build.setup("S2", ("F2",), direction=direction)))
    mill = replace(build.MILL, **machine)
    return build.case(build.hole(), build.hole(), plan_=plan, shop_=build.shop(machines=(mill, build.LATHE)))


@pytest.mark.parametrize(("angle", "off"), [(20.0, 20.0), (75.0, 15.0), (110.0, 20.0)])
def test_fires(angle: float, off: float) -> None:
    """20, and 15 or 20 from square."""
    (found,) = build.ask(RULE, with_setup(tilted(angle)))
    assert build.told(found) == ("warning", pytest.approx(off), 0.5)
    assert found.features == ("F2",)


@pytest.mark.parametrize(
    "one",
    [
        pytest.param(with_setup(tilted(90.0)), id="square"),
        pytest.param(with_setup(tilted(180.0)), id="from-below"),
        pytest.param(with_setup(tilted(0.5)), id="exactly-at-the-limit"),
        pytest.param(with_setup(tilted(20.0), axes=5), id="five-axes"),
        pytest.param(with_setup(tilted(20.0), indexed=True), id="indexed"),
        pytest.param(build.case(plan_=build.plan(())), id="no-setups"),
    ],
)
def test_stays_silent(one: Case) -> None:
    """Square sides, or a machine that tilts."""
    assert build.ask(RULE, one) == []
