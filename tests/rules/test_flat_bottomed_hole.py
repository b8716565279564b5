import math

import pytest

from analyzers.model.feature import Feature
from tests.rules import _builders as build

RULE = "flat_bottomed_hole"


def flat(diameter: float, depth: float | None) -> Feature:
    """Return a blind hole with a flat bottom."""
    return build.hole(diameter, depth, bottom="flat", point_angle_deg=None)


def test_fires() -> None:
    """A ⌀5 hole, 12 deep and flat: the cone of 118 degrees is d / (2 tan 59) = 1.5 mm high."""
    (found,) = build.ask(RULE, build.case(flat(5.0, 12.0)))
    assert build.told(found) == ("note", pytest.approx(2.4), 1.0)
    assert f"{5.0 / (2.0 * math.tan(math.radians(59.0))):.1f} mm below" in found.suggestion


@pytest.mark.parametrize(
    "hole",
    [
        pytest.param(build.hole(5.0, 12.0), id="cone"),
        pytest.param(flat(5.0, 5.0), id="exactly-one-diameter-is-a-recess"),
        pytest.param(flat(8.1, 30.0), id="larger-than-any-drill-is-milled"),
        pytest.param(flat(5.0, None), id="depth-not-measured"),
        pytest.param(build.hole(5.0, 12.0, through=True, bottom="through"), id="through"),
    ],
)
def test_stays_silent(hole: Feature) -> None:
    """Drilled as drills drill, or not drilled at all."""
    assert build.ask(RULE, build.case(hole)) == []


def test_drill_cone_height_of_the_table() -> None:
    """A 10 mm drill of 118 degrees has a cone of 3.004 mm (table drill_points)."""
    shop = build.shop(cutters=(build.drill(10.0),))
    (found,) = build.ask(RULE, build.case(flat(10.0, 20.0), shop_=shop))
    assert "3 mm below" in found.suggestion
