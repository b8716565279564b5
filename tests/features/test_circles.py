"""Bolt circles among points in a plane: whole ones, ones with a gap, and what only looks like one."""

import numpy as np
import pytest

from analyzers.features._circles import LEAST_SLOTS_WITH_GAP, Order, circles
from analyzers.model.arrays import Floats
from analyzers.tolerance import TWIN_PLACE_MM
from tests.features._patterned import CORNERS, Spot, jittered, on_circle, without

HUB: Spot = (13.0, -7.0)
HUBS = np.array([HUB])
NO_HUB = np.empty((0, 2))


def around(count: int, *gone: int, radius: float = 20.0, start_deg: float = 23.0) -> list[Spot]:
    """Return places on a circle about the hub, without some."""
    return without(on_circle(count, radius, start_deg, HUB), *gone)


def found(spots: list[Spot], hubs: Floats = HUBS, about_all: bool = True) -> list[Order]:
    """Return the circles among places."""
    return circles(np.array(spots), hubs, about_all)


@pytest.mark.parametrize("count", [3, 4, 5, 6, 8, 12])
def test_an_evenly_divided_circle_is_one_order(count: int) -> None:
    """All of them about the hub, none missing, divided by their number."""
    (order,) = found(around(count))
    assert (order.members.tolist(), order.gap, order.slots) == (list(range(count)), None, count)
    assert order.centre == pytest.approx(np.array(HUB), abs=1e-9)


@pytest.mark.parametrize("count", [3, 5, 6, 7])
def test_a_circle_needs_no_hub_where_it_is_all_there_is(count: int) -> None:
    """Three, five and more points on one circle: its centre follows from them."""
    (order,) = found(around(count), NO_HUB)
    assert len(order.members) == count
    assert order.centre == pytest.approx(np.array(HUB), abs=1e-9)


@pytest.mark.parametrize("count", range(LEAST_SLOTS_WITH_GAP, 10))
@pytest.mark.parametrize("gone", [0, 2])
def test_the_one_empty_place_is_told(count: int, gone: int) -> None:
    """From exactly five places on, four of which are taken."""
    (order,) = found(around(count, gone))
    assert order.slots == count
    assert order.gap == pytest.approx(np.array(around(count)[gone]), abs=1e-6)


def test_a_gap_is_told_among_places_that_an_exporter_rounded() -> None:
    """A micrometre off here and there."""
    (order,) = found(jittered(around(6, 1)))
    assert order.gap == pytest.approx(np.array(around(6)[1]), abs=TWIN_PLACE_MM)


def test_two_circles_of_one_diameter_are_told_apart() -> None:
    """Four at one angle, four turned by 20 degrees: two orders of four, no gap."""
    orders = found([*around(4), *around(4, start_deg=43.0)])
    assert [(len(each.members), each.gap) for each in orders] == [(4, None), (4, None)]


def test_circles_of_two_diameters_are_found_fullest_first() -> None:
    """Six outside, three inside, no point in both."""
    orders = found([*around(3, radius=9.0), *around(6)])
    assert [len(each.members) for each in orders] == [6, 3]
    assert set(orders[0].members).isdisjoint(orders[1].members)


SILENT = [
    pytest.param([], id="none"),
    pytest.param(around(2), id="two"),
    pytest.param(around(4, 1), id="three-of-four-may-be-meant"),
    pytest.param(around(6, 0, 1), id="two-gaps-side-by-side"),
    pytest.param(around(6, 0, 2), id="two-gaps"),
    pytest.param([*around(3, 0), (13.0, 8.0)], id="another-radius"),
    pytest.param([(0.0, 0.0), (10.0, 0.0), (20.0, 0.0), (30.0, 0.0), (40.0, 0.0)], id="in-a-line"),
    pytest.param([(0.0, 0.0), (31.0, 5.0), (7.0, 22.0), (18.0, 40.0), (2.0, 33.0)], id="scattered"),
]


@pytest.mark.parametrize("spots", SILENT)
def test_no_circle_is_read_into_other_places(spots: list[Spot]) -> None:
    """Too few, too uneven, or on no circle."""
    flat = np.array(spots).reshape(-1, 2)
    assert [each for each in circles(flat, HUBS) if each.gap is not None or each.slots > 3] == []


def test_the_corners_of_a_rectangle_are_no_circle_by_themselves() -> None:
    """They lie on one, as any rectangle does, but round no axis of the part."""
    assert found(list(CORNERS), NO_HUB) == []


def test_what_shares_a_circle_about_nothing_is_none_where_that_is_not_asked() -> None:
    """Rounded corners lie on circles by chance."""
    assert found(around(5), NO_HUB, about_all=False) == []


@pytest.mark.parametrize(("share", "count"), [(0.9, 1), (4.0, 0)])
def test_one_place_off_the_circle_by_a_share_of_what_is_allowed(share: float, count: int) -> None:
    """Within the tolerance of a place it is a member, far past it the circle is broken."""
    spots = around(5)
    out = np.array(spots[0]) - HUB
    moved = np.array(spots[0]) + share * TWIN_PLACE_MM * out / np.linalg.norm(out)
    orders = found([(float(moved[0]), float(moved[1])), *spots[1:]])
    assert sum(len(each.members) == 5 for each in orders) == count
