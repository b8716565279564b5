"""Discs and tips rolled over grids whose answers are formulas."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analyzers.model.arrays import Bools, Floats
from analyzers.plan.rolling import (
    RESOLUTION_CELLS,
    entering_mm,
    finishing_mm,
    left_by_disc,
    left_by_tip,
    room_mm,
    tip_height_mm,
)
from analyzers.settings import Cutter


def rounded_rectangle(length: float, width: float, radius: float, cell: float, turn_deg: float) -> Bools:
    """Return the cells of a pocket's floor with round corners, turned on its grid."""
    half = (int(math.hypot(length, width) / cell) + 10) // 2
    place = np.arange(-half, half + 1) * cell
    u, v = np.meshgrid(place, place, indexing="ij")
    cos, sin = math.cos(math.radians(turn_deg)), math.sin(math.radians(turn_deg))
    x, y = np.abs(cos * u + sin * v) - length / 2 + radius, np.abs(cos * v - sin * u) - width / 2 + radius
    free: Bools = np.hypot(np.maximum(x, 0), np.maximum(y, 0)) + np.minimum(np.maximum(x, y), 0) < radius
    return free


@settings(max_examples=30)
@given(radius=st.floats(1.0, 6.0), cells=st.floats(6.0, 30.0), turn=st.floats(0.0, 90.0))
def test_the_largest_disc_is_twice_the_corner_within_the_resolution(radius: float, cells: float, turn: float) -> None:
    """Corners of any radius, in any pose, on any grid finer than a sixth of them, its middle on a cell or not."""
    cell = radius / cells
    free = rounded_rectangle(5 * radius, 4 * radius, radius, cell, turn)
    room = room_mm(free, cell)
    assert finishing_mm(room, free, cell, 100.0) == pytest.approx(2 * radius, abs=RESOLUTION_CELLS * cell)
    assert entering_mm(room, free, 100.0) == pytest.approx(4 * radius, abs=2 * cell)


@pytest.mark.parametrize("turn", [0.0, 17.0, 45.0])
def test_what_a_disc_leaves_in_four_corners_is_known(turn: float) -> None:
    """Four right-angled corners of R 4 keep (4 - pi)(r^2 - R^2) = 41.2 mm2 from r 8, nothing from r 4 or 3."""
    cell = 0.1
    free = rounded_rectangle(40, 30, 4.0, cell, turn)
    room = room_mm(free, cell)
    left = left_by_disc(room, free, 8.0, cell)
    border = 4 * (math.pi / 2 * (8 + 4) + 2 * (8 - 4))  # of the four patches, where half a cell may be off
    assert float(left.sum()) * cell**2 == pytest.approx((4 - math.pi) * (64 - 16), abs=border * cell)
    assert not left_by_disc(room, free, 4.0, cell).any()
    assert not left_by_disc(room, free, 3.0, cell).any()


def test_a_cutter_as_wide_as_its_slot_goes_in_and_a_wider_one_does_not() -> None:
    """A slot of 6 mm, off the grid by part of a cell."""
    cell = 0.25
    place = np.arange(-40, 41) * cell
    free = np.broadcast_to(np.abs(place + 0.07)[:, None] < 3.0, (81, 200)).copy()
    room = room_mm(free, cell)
    assert not left_by_disc(room, free, 3.0, cell).any()
    assert (left_by_disc(room, free, 3.0 + 3 * cell, cell) == free).all()


def test_the_border_of_the_grid_is_no_wall() -> None:
    """All free: any disc reaches all."""
    free = np.ones((30, 30), dtype=bool)
    assert finishing_mm(room_mm(free, 0.5), free, 0.5, 20.0) == 20.0


def test_the_form_of_a_tip() -> None:
    """Flat: level. Ball R 5: 1 mm up at 3 mm out (3-4-5). Bull 10 R 1: flat to 4 mm, then a quarter round."""
    away = np.array([0.0, 3.0, 4.0, 5.0])
    assert tip_height_mm(10.0, 0.0, away).tolist() == [0.0, 0.0, 0.0, 0.0]
    assert tip_height_mm(10.0, 5.0, away).tolist() == [0.0, 1.0, 2.0, 5.0]
    assert tip_height_mm(10.0, 1.0, away).tolist() == [0.0, 0.0, 0.0, 1.0]


def valley(radius: float, cell: float) -> Floats:
    """Return a round valley along the grid, 40 cells long, with level ground beside it."""
    place = np.arange(-60, 61) * cell
    inside = np.maximum(radius**2 - place**2, 0.0)
    heights: Floats = np.broadcast_to(-np.sqrt(inside)[:, None], (121, 40)).copy()
    return heights


@pytest.mark.parametrize(("ball", "leaves"), [(3.0, False), (5.0, False), (8.0, True)])
def test_a_ball_follows_a_hollow_that_is_no_tighter_than_itself(ball: float, leaves: bool) -> None:
    """Valley of R 5: balls up to R 5 leave less than a cell; R 8 rests on the rims and leaves 5 - (8 - sqrt(64-25))."""
    cell = 0.2
    cutter = Cutter(id="c", kind="ball", diameter_mm=2 * ball, flute_length_mm=20, reach_mm=40, corner_radius_mm=ball)
    left, used = left_by_tip(valley(5.0, cell), -5.0, cell, cutter)
    deepest = float(left[5:-5].max())
    if leaves:
        assert deepest == pytest.approx(5.0 - (8.0 - math.sqrt(64 - 25)), abs=used)
    else:
        assert deepest <= used
