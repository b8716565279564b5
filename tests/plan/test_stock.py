from math import pi

import numpy as np
import pytest

from analyzers.model.arrays import Vec
from analyzers.plan.frame import frame_of
from analyzers.plan.stock import Blank, blank_for
from analyzers.settings import Shop, Stock
from tests.plan._builders import block, example, moved, turned, with_shop

MATERIAL = example().material
X = np.array([1.0, 0.0, 0.0])


def blank(size: Vec, shop: Shop) -> Blank:
    """Return the blank for a block."""
    part = block(size)
    return blank_for(part, frame_of(part), shop, MATERIAL)


def shop_with(*stock: Stock, allowance: float = 2.0) -> Shop:
    """Return a shop with a stock list of its own."""
    return with_shop(stock=stock, stock_allowance_mm=allowance).shop


PLATES = Stock(form="plate", sizes_mm=(10.0, 15.0, 25.0))
BARS = Stock(form="flat_bar", sizes_mm=(10.0, 20.0), widths_mm=(30.0, 50.0))


@pytest.mark.parametrize(
    ("thickness", "plate"),
    [(6.0, 10.0), (6.01, 15.0), (11.0, 15.0), (11.01, 25.0), (21.0, 25.0)],
)
def test_the_thinnest_plate_with_the_allowance_is_taken(thickness: float, plate: float) -> None:
    """Thickness of the part and 2 mm on each side must go into the plate; the rest is sawn to need."""
    found = blank((60.0, 40.0, thickness), shop_with(PLATES))
    assert found.form == "plate"
    assert found.size_mm == pytest.approx((64.0, 44.0, plate))
    assert found.volume_mm3 == pytest.approx(64.0 * 44.0 * plate)


def test_a_plate_lies_on_the_thinnest_side() -> None:
    """A part that stands on its edge in the model is not sawn out of a plate as thick as it is tall."""
    assert blank((60.0, 10.0, 20.0), shop_with(PLATES)).size_mm == pytest.approx((64.0, 15.0, 24.0))


def test_what_no_plate_is_thick_enough_for_is_ordered() -> None:
    """And the plan says why."""
    found = blank((60.0, 40.0, 30.0), shop_with(PLATES))
    assert found.form == "block"
    assert found.size_mm == pytest.approx((64.0, 44.0, 34.0))
    assert "nothing on the stock list" in found.why


def test_a_flat_bar_wins_where_it_wastes_less() -> None:
    """44 x 14 wanted: bar 50 x 20 against plate 25; with plate 15 on the list the plate wastes less."""
    thick = Stock(form="plate", sizes_mm=(25.0,))
    assert blank((200.0, 40.0, 10.0), shop_with(BARS, thick)).form == "flat_bar"
    assert blank((200.0, 40.0, 10.0), shop_with(BARS, PLATES)).form == "plate"


def test_stock_of_another_material_does_not_count() -> None:
    """A list entry for steel is no help for aluminium."""
    steel = Stock(form="plate", sizes_mm=(15.0,), materials=("1018",))
    assert blank((60.0, 40.0, 10.0), shop_with(steel)).form == "block"
    own = Stock(form="plate", sizes_mm=(15.0,), materials=(MATERIAL.id,))
    assert blank((60.0, 40.0, 10.0), shop_with(own)).form == "plate"


def test_an_askew_part_is_cut_from_the_same_blank() -> None:
    """The blank follows the part's own directions."""
    straight = block((60.0, 40.0, 11.0))
    askew = moved(straight)
    shop = shop_with(PLATES)
    first = blank_for(straight, frame_of(straight), shop, MATERIAL)
    second = blank_for(askew, frame_of(askew), shop, MATERIAL)
    assert sorted(second.size_mm) == pytest.approx(sorted(first.size_mm))


@pytest.mark.parametrize(("radius", "bar"), [(10.5, 25.0), (10.51, 30.0), (31.0, 66.0)])
def test_a_turned_part_comes_from_the_next_bar(radius: float, bar: float) -> None:
    """Diameter with allowance, exact although the triangulation cuts corners; none that large is ordered to size."""
    part = turned([(0.0, radius), (50.0, radius)])
    shop = shop_with(Stock(form="round_bar", sizes_mm=(20.0, 25.0, 30.0)))
    found = blank_for(part, frame_of(part, (1.0, 0.0, 0.0)), shop, MATERIAL, X)
    assert found.form == "round_bar"
    assert found.size_mm == pytest.approx((54.0, bar, bar))
    assert found.volume_mm3 == pytest.approx(pi / 4.0 * bar**2 * 54.0)


def test_no_allowance_leaves_the_part_itself() -> None:
    """A shop that buys to size has nothing to take off."""
    assert blank((60.0, 40.0, 30.0), shop_with(allowance=0.0)).size_mm == pytest.approx((60.0, 40.0, 30.0))
