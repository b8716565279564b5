"""Rows and grids among points in a plane: whole ones, ones with a gap, and what has no order."""

import numpy as np
import pytest

from analyzers.features._circles import Order
from analyzers.features._grids import LEAST_PLACES_WITH_GAP, LEAST_ROW_WITH_GAP, grids
from tests.features._patterned import CORNERS, Spot, in_grid, jittered, without

TURN = np.array([[0.8, -0.6], [0.6, 0.8]])  # the 3-4-5 triangle: along no axis


def row(count: int, *gone: int, pitch: float = 11.0) -> list[Spot]:
    """Return places in a line, without some."""
    return without([(5.0 + pitch * i, 3.0) for i in range(count)], *gone)


def found(spots: list[Spot]) -> list[Order]:
    """Return the orders among places that lie askew."""
    return grids(np.array(spots).reshape(-1, 2) @ TURN.T)


def straight(place: object) -> np.ndarray:
    """Return a found place as it was before it was turned."""
    return np.asarray(place) @ TURN


@pytest.mark.parametrize("spots", [row(3), row(4), row(9), in_grid(2, 2), in_grid(2, 3), in_grid(4, 3), in_grid(7, 5)])
def test_whole_rows_and_grids_are_one_order(spots: list[Spot]) -> None:
    """All members, no gap."""
    (order,) = found(spots)
    assert (order.members.tolist(), order.gap) == (list(range(len(spots))), None)


@pytest.mark.parametrize(
    ("whole", "gone"),
    [
        pytest.param(row(LEAST_ROW_WITH_GAP), 1, id="exactly-the-shortest-row"),
        pytest.param(row(LEAST_ROW_WITH_GAP), 4, id="row-beside-its-middle"),
        pytest.param(row(10), 7, id="long-row"),
        pytest.param(in_grid(3, 2), 0, id="exactly-the-smallest-grid"),
        pytest.param(in_grid(4, 3), 0, id="corner"),
        pytest.param(in_grid(3, 3), 3, id="side-of-nine"),
        pytest.param(in_grid(5, 4), 11, id="inside"),
    ],
)
@pytest.mark.parametrize("noise_mm", [0.0, 1e-3])
def test_the_one_empty_place_is_told(whole: list[Spot], gone: int, noise_mm: float) -> None:
    """Where it was left out when the points were made, also where an exporter rounded the others."""
    (order,) = found(jittered(without(whole, gone), noise_mm))
    assert straight(order.gap) == pytest.approx(np.array(whole[gone]), abs=0.01)


def test_the_limits_of_this_page_are_those_of_the_code() -> None:
    """The cases above name them by size."""
    assert (LEAST_ROW_WITH_GAP, LEAST_PLACES_WITH_GAP) == (7, 6)


@pytest.mark.parametrize(
    "spots",
    [
        pytest.param(row(LEAST_ROW_WITH_GAP - 1, 1), id="row-too-short-to-tell"),
        pytest.param(row(9, 4), id="middle-of-a-row-is-meant"),
        pytest.param(row(9, 2, 6), id="two-gaps-in-a-row"),
        pytest.param(in_grid(2, 2)[:3], id="three-of-four-corners"),
        pytest.param(without(in_grid(3, 3), 4), id="middle-of-a-grid-is-meant"),
        pytest.param(without(in_grid(3, 2), 1), id="middle-of-a-side-is-meant"),
        pytest.param(without(in_grid(4, 3), 0, 11), id="two-gaps-in-a-grid"),
        pytest.param([*CORNERS, (60.0, 10.0)], id="four-corners-and-one"),
        pytest.param([(20.0, 20.0), (33.0, 55.0), (71.0, 31.0), (100.0, 60.0), (90.0, 12.0)], id="scattered"),
        pytest.param([], id="none"),
        pytest.param(row(2), id="two"),
    ],
)
def test_no_gap_is_read_into_other_places(spots: list[Spot]) -> None:
    """Too few, gaps that are meant, more than one gap, or no order at all."""
    assert [each for each in found(spots) if each.gap is not None] == []


def test_two_rows_side_by_side_are_two_orders() -> None:
    """Four and three at another pitch and another angle: no point in both."""
    other = [(0.0, 50.0), (3.0, 70.0), (6.0, 90.0)]
    orders = found([*row(4), *other])
    assert sorted(len(each.members) for each in orders) == [3, 4]


def test_in_pieces_only_when_asked() -> None:
    """Two rows are no single order."""
    flat = np.array([*row(4), (0.0, 50.0), (3.0, 70.0), (6.0, 91.0)])
    assert grids(flat, parts=False) == []
