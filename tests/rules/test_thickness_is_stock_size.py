from dataclasses import replace

import pytest

from analyzers.model.report import MadeBy
from analyzers.settings import Shop, Stock
from tests.rules import _builders as build

RULE = "thickness_is_stock_size"
PLATES = (Stock(form="plate", sizes_mm=(10.0, 15.0, 20.0, 25.0, 30.0)),)
SHOP = build.shop(stock=PLATES)  # facing takes 2 mm from each side


@pytest.mark.parametrize("thick", [20.0, 16.5])
def test_fires(thick: float) -> None:
    """20 mm and 16.5 mm are cut from 25 mm; at 16 mm the 20 mm plate would do."""
    (found,) = build.ask(RULE, build.case(part=build.moved(build.block(size=(60.0, 40.0, thick))), shop_=SHOP))
    assert build.told(found) == ("note", pytest.approx(thick), 16.0)
    assert found.suggestion.startswith("16 mm thick")
    assert found.effect.startswith("5 mm less plate")


@pytest.mark.parametrize(
    ("thick", "shop", "process"),
    [
        pytest.param(16.0, SHOP, "milled", id="exactly-faced-on-both-sides"),
        pytest.param(29.0, SHOP, "milled", id="no-thicker-plate-to-take"),
        pytest.param(20.0, build.shop(), "milled", id="no-plates-listed"),
        pytest.param(20.0, build.shop(stock=(replace(PLATES[0], materials=("ST",)),)), "milled", id="other-material"),
        pytest.param(20.0, SHOP, "turned", id="turned-from-bar"),
    ],
)
def test_stays_silent(thick: float, shop: Shop, process: str) -> None:
    """The plate has its facing, or there is none to choose."""
    made_by = MadeBy(process=process, why="given")  # type: ignore[arg-type] # one of the words, from the list above
    one = build.case(part=build.block(size=(60.0, 40.0, thick)), shop_=shop, made_by=made_by)
    assert build.ask(RULE, one) == []
