from dataclasses import replace

import pytest

from analyzers.model.report import MadeBy
from analyzers.settings import Shop, Stock
from tests.rules import _builders as build
from tests.rules import _solids as solids

RULE = "thickness_is_stock_size"
PLATES = (Stock(form="plate", sizes_mm=(10.0, 15.0, 20.0, 25.0, 30.0)),)
SHOP = build.shop(stock=PLATES)  # facing takes 2 mm from each side


def test_fires() -> None:
    """10 mm, and 9.9 mm too, are cut from 15 mm plate."""
    for thick in (10.0, 9.9):
        part = solids.moved(solids.block(size=(60.0, 40.0, thick)))
        (found,) = build.ask(RULE, build.case(part=part, shop_=SHOP))
        assert build.told(found) == ("note", pytest.approx(0.5), 0.25)
        assert "as the 10 mm plate comes" in found.suggestion
        assert found.effect.startswith("5 mm less plate")


@pytest.mark.parametrize(
    ("thick", "shop", "process"),
    [
        pytest.param(16.0, SHOP, "milled", id="faced-on-both-sides"),
        pytest.param(9.85, SHOP, "milled", id="not-meant-to-be-the-plate"),
        pytest.param(20.0, SHOP, "milled", id="exactly-a-quarter-more-plate"),
        pytest.param(29.0, SHOP, "milled", id="no-thicker-plate-to-take"),
        pytest.param(10.0, build.shop(), "milled", id="no-plates-listed"),
        pytest.param(10.0, build.shop(stock=(replace(PLATES[0], materials=("ST",)),)), "milled", id="other-material"),
        pytest.param(10.0, SHOP, "turned", id="turned-from-bar"),
    ],
)
def test_stays_silent(thick: float, shop: Shop, process: str) -> None:
    """The plate has its facing, or there is none to choose."""
    made_by = MadeBy(process=process, why="given")  # type: ignore[arg-type] # one of the words, from the list above
    one = build.case(part=solids.block(size=(60.0, 40.0, thick)), shop_=shop, made_by=made_by)
    assert build.ask(RULE, one) == []
