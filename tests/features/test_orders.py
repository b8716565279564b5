"""Rows, grids and circles in space: in planes, and round the axis of a shaft."""

from typing import Any

import pytest

from analyzers.features._families import families, middles
from analyzers.features._orders import Ordered, orders_of
from analyzers.features._view import View
from fixtures.make.vocabulary.holes import drill
from fixtures.make.vocabulary.stock import block
from fixtures.make.vocabulary.work import Work
from tests.features._bench import POSES, Build, placed, recognised, shape_of
from tests.features._patterned import (
    CORNERS,
    MIDDLE,
    PLATE,
    chamfered,
    drilled_plate,
    flange,
    in_grid,
    on_circle,
    shaft,
    with_bosses,
    without,
)
from tests.kernel._solids import loaded, moved


def orders(build: Build, pose: Any) -> list[Ordered]:
    """Return the orders of a built part in a pose."""
    facts = recognised(build, pose)
    part, geometry = loaded(moved(shape_of(build), pose))
    return orders_of(View(part, geometry), families(part, facts.features, *middles(part, facts.features)))


def two_sides(below: int) -> Work:
    """Return a plate with four blind holes from above and some of the same from below, in one row."""
    work = block(PLATE)
    for x in (20.0, 40.0, 60.0, 80.0):
        drill(work, (x, 40.0, 12.0), 5.0, 4.0, bottom="flat")
    for number in range(below):
        drill(work, (30.0 + 20.0 * number, 40.0, 0.0), 5.0, 4.0, out=(0.0, 0.0, -1.0), bottom="flat")
    return work


SIX = on_circle(6, 38.0)
FIRES = [
    pytest.param(lambda: flange(on_circle(6, 38.0)), [("circular", 6)], id="flange"),
    pytest.param(lambda: flange([*SIX, *on_circle(4, 25.0)]), [("circular", 4), ("circular", 6)], id="two-circles"),
    pytest.param(lambda: drilled_plate(in_grid(4, 3)), [("rectangular", 12)], id="grid"),
    pytest.param(lambda: drilled_plate(CORNERS), [("rectangular", 4)], id="corners"),
    pytest.param(lambda: with_bosses(CORNERS, [5.0] * 4), [("rectangular", 4)], id="bosses"),
    pytest.param(lambda: shaft(7), [("circular", 7)], id="round-a-shaft"),
    pytest.param(lambda: two_sides(3), [("rectangular", 3), ("rectangular", 4)], id="a-row-on-each-side"),
]


@pytest.mark.parametrize("pose", POSES)
@pytest.mark.parametrize(("build", "expected"), FIRES)
def test_equal_features_in_an_order_are_found(build: Build, expected: list[tuple[str, int]], pose: str) -> None:
    """However the part lies; nothing in two orders, nothing missing."""
    found = orders(build, POSES[pose])
    assert sorted((each.kind, len(each.rows)) for each in found) == expected
    assert all(each.gap is None for each in found)
    rows = [row for each in found for row in each.rows.tolist()]
    assert len(rows) == len(set(rows))


@pytest.mark.parametrize("pose", POSES)
def test_the_empty_place_of_a_circle_lies_on_the_rim_of_the_others(pose: str) -> None:
    """In space, with the way a hole there would look."""
    (order,) = orders(lambda: flange(without(on_circle(6, 38.0), 2)), POSES[pose])
    assert order.gap is not None
    x, y = on_circle(6, 38.0)[2]
    place = placed(tuple(order.gap.place_mm.tolist()), POSES[pose])
    assert place[:2] == pytest.approx((x, y), abs=1e-3)
    assert place[2] in (pytest.approx(0.0, abs=1e-3), pytest.approx(12.0, abs=1e-3))


@pytest.mark.parametrize("pose", POSES)
def test_the_empty_place_round_a_shaft_looks_outward(pose: str) -> None:
    """One of seven holes all round is left out."""
    (order,) = orders(lambda: shaft(7, [2]), POSES[pose])
    assert order.gap is not None
    centre = order.centre_mm
    assert centre is not None
    outward = (order.gap.place_mm - centre) / 30.0
    assert order.gap.way == pytest.approx(outward, abs=1e-6)


SILENT = [
    pytest.param(lambda: drilled_plate([MIDDLE]), id="one"),
    pytest.param(lambda: drilled_plate(CORNERS[:2]), id="two"),
    pytest.param(lambda: drilled_plate([(20.0, 20.0), (33.0, 55.0), (71.0, 31.0), (100.0, 60.0)]), id="scattered"),
    pytest.param(lambda: with_bosses([(20.0, 20.0), (60.0, 33.0)], [5.0, 5.0]), id="bosses"),
    pytest.param(lambda: shaft(9, [1, 2, 4, 5, 6, 8]), id="three-uneven-ones-round-a-shaft"),
    pytest.param(lambda: chamfered(0, 1), id="two-chamfers"),
]


@pytest.mark.parametrize("pose", POSES)
@pytest.mark.parametrize("build", SILENT)
def test_no_order_is_read_into_few_or_scattered_features(build: Build, pose: str) -> None:
    """Other orders of the same part, such as the holes beside chamfers, are no concern here."""
    found = orders(build, POSES[pose])
    assert [each for each in found if each.gap is not None or len(each.rows) < 4] == []
