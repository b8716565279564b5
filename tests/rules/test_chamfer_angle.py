import pytest

from analyzers.model.report import MadeBy
from analyzers.settings import Cutter, Shop
from tests.rules import _builders as build

RULE = "chamfer_angle"
MILLS = tuple(
    Cutter(id=f"C{angle}", kind="chamfer", diameter_mm=10.0, flute_length_mm=5.0, reach_mm=30.0, point_angle_deg=angle)
    for angle in (90.0, 60.0)
)
SHOP = build.shop(cutters=MILLS)


def test_fires() -> None:
    """20 degrees where the shelf has 45, and 30 or 60 (the 60 degree point, either way round)."""
    (found,) = build.ask(RULE, build.case(build.chamfer(1.0, 20.0), shop_=SHOP))
    assert build.told(found) == ("note", pytest.approx(10.0), 1.0)
    assert found.suggestion == "30° instead."


@pytest.mark.parametrize(
    ("angle", "shop", "process"),
    [
        pytest.param(45.0, SHOP, "milled", id="45"),
        pytest.param(60.0, SHOP, "milled", id="the-other-way-round"),
        pytest.param(44.0, SHOP, "milled", id="exactly-at-the-limit"),
        pytest.param(20.0, SHOP, "turned", id="a-lathe-turns-any"),
        pytest.param(20.0, build.shop(), "milled", id="no-chamfer-mill-on-the-shelf"),
    ],
)
def test_stays_silent(angle: float, shop: Shop, process: str) -> None:
    """Angles that a cutter has."""
    made_by = MadeBy(process=process, why="given")  # type: ignore[arg-type] # one of the words, from the list above
    assert build.ask(RULE, build.case(build.chamfer(1.0, angle), shop_=shop, made_by=made_by)) == []


@pytest.mark.parametrize(("width", "count"), [(6.0, 1), (6.1, 0)])
def test_wide_slope_is_no_chamfer(width: float, count: int) -> None:
    """Exactly 6 mm is still cut with a chamfer mill."""
    assert len(build.ask(RULE, build.case(build.chamfer(width, 20.0), shop_=SHOP))) == count
