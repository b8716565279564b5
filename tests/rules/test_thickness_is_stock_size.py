from dataclasses import replace

import pytest

from analyzers.settings import Shop, Stock
from tests.rules import _builders as build
from tests.rules import _solids as solids

RULE = "thickness_is_stock_size"
PLATES = (Stock(form="plate", sizes_mm=(10.0, 15.0, 20.0, 25.0, 30.0)),)
SHOP = build.shop(stock=PLATES)  # facing takes 2 mm from each side
FROM_15 = build.plan(stock=(64.0, 44.0, 15.0), form="plate")


def test_fires() -> None:
    """10 mm, and 9.9 mm too, are cut from 15 mm plate."""
    for thick in (10.0, 9.9):
        part = solids.moved(solids.block(size=(60.0, 40.0, thick)))
        (found,) = build.ask(RULE, build.case(part=part, shop_=SHOP, plan_=FROM_15))
        assert build.told(found) == ("note", pytest.approx(0.5), 0.25)
        assert "as the 10 mm plate comes" in found.suggestion
        assert found.effect.startswith("5 mm less plate")


@pytest.mark.parametrize(
    ("thick", "shop", "blank"),
    [
        pytest.param(16.0, SHOP, 20.0, id="faced-on-both-sides"),
        pytest.param(9.85, SHOP, 15.0, id="not-meant-to-be-the-plate"),
        pytest.param(20.0, SHOP, 25.0, id="exactly-a-quarter-more-plate"),
        pytest.param(29.0, SHOP, 33.0, id="no-thicker-plate-to-take"),
        pytest.param(10.0, build.shop(), 15.0, id="no-plates-listed"),
        pytest.param(10.0, build.shop(stock=(replace(PLATES[0], materials=("ST",)),)), 15.0, id="other-material"),
        pytest.param(10.0, SHOP, 14.0, id="plate-lies-along-other-sides"),
    ],
)
def test_stays_silent(thick: float, shop: Shop, blank: float) -> None:
    """The plate has its facing, or there is none to choose, or it is chosen by another side."""
    plan = build.plan(stock=(64.0, 44.0, blank), form="plate")
    assert build.ask(RULE, build.case(part=solids.block(size=(60.0, 40.0, thick)), shop_=shop, plan_=plan)) == []


@pytest.mark.parametrize("form", ["round_bar", "flat_bar", "block"])
def test_what_is_not_cut_from_plate_has_no_plate_to_save(form: str) -> None:
    """A tube of 60 mm is turned from bar: nothing of it is faced from plate."""
    plan = build.plan(stock=(64.0, 44.0, 15.0), form=form)
    one = build.case(part=solids.block(size=(60.0, 40.0, 10.0)), shop_=SHOP, plan_=plan)
    assert build.ask(RULE, one) == []
