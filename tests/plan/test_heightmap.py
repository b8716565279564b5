"""The height map of solids whose heights are known from how they are built."""

import numpy as np
import pytest

from analyzers.model.arrays import Floats, unit
from analyzers.plan.heightmap import height_map
from tests.measures._shapes import ball, box, cut, loaded, prism, rod
from tests.plan._builders import TURN, block, moved

UP = np.array([0.0, 0.0, 1.0])
AXES = np.eye(3)


def test_a_block_is_level_all_over_and_air_around_it_lies_at_its_foot() -> None:
    """40 x 30 x 10 mm with 5 mm of air: level at 10 over 1200 mm2, at 0 beside it."""
    part = loaded(box((0, 0, 0), (40, 30, 10)))[0].part
    chart = height_map(part, UP, AXES, cell_mm=0.25, margin_mm=5.0)
    assert chart.top_mm.shape == (200, 160)
    assert np.unique(chart.top_mm).tolist() == [0.0, 10.0]
    assert float((chart.face >= 0).sum()) * 0.25**2 == pytest.approx(1200.0)


def test_every_cell_shows_the_face_that_lies_highest() -> None:
    """A pocket and a hole through its floor: top, floor and air each with their area, to a row of cells."""
    shape = cut(box((0, 0, 0), (40, 30, 10)), box((10, 10, 4), (30, 20, 11)), rod((20, 15, -1), 3, 20))
    part = loaded(shape)[0].part
    chart = height_map(part, UP, AXES, cell_mm=0.1)
    area = {height: float((np.abs(chart.top_mm - height) < 1e-9).sum()) * 0.01 for height in (0.0, 4.0, 10.0)}
    assert area[10.0] == pytest.approx(1200 - 200, abs=1e-9)
    assert area[0.0] == pytest.approx(9 * np.pi, rel=0.02)
    assert area[4.0] == pytest.approx(200 - 9 * np.pi, rel=0.01)
    floor = int(np.flatnonzero(np.abs(part.face_point_mm[:, 2] - 4.0) < 1e-9)[0])
    assert set(chart.face[np.abs(chart.top_mm - 4.0) < 1e-9].tolist()) == {floor}


def test_slopes_and_balls_are_as_high_as_their_formula() -> None:
    """A ramp to rounding; half a ball of 10 mm to the chords of its triangulation."""
    ramp = loaded(prism([(0, 0), (40, 0), (40, 10), (0, 2)], 30))[0].part
    chart = height_map(ramp, UP, AXES, cell_mm=0.5)
    x = chart.corner_mm[0] * chart.axes[0, 0] + 0.5 * np.arange(chart.top_mm.shape[0])
    assert np.abs(chart.axes[0]).tolist() == [1.0, 0.0, 0.0]
    assert chart.top_mm == pytest.approx(np.broadcast_to((2 + 0.2 * x)[:, None], chart.top_mm.shape), abs=1e-9)

    part = loaded(ball((0, 0, 0), 10))[0].part
    sphere = height_map(part, UP, AXES, cell_mm=0.25)
    u, v = (sphere.corner_mm[k] + 0.25 * np.arange(sphere.top_mm.shape[k]) for k in (0, 1))
    away = np.hypot(*np.meshgrid(u, v, indexing="ij"))
    inner = away < 8.0  # nearer the rim the same chord is a greater height
    expected = np.sqrt(100.0 - away[inner] ** 2)
    assert np.abs(sphere.top_mm[inner] - expected).max() <= 2.5 * part.mesh.chord_mm


@pytest.mark.parametrize("way", [UP, -UP, np.array([1.0, 0, 0]), unit(np.array([1.0, 2.0, 3.0]))])
def test_the_map_covers_what_the_direction_sees(way: Floats) -> None:
    """The area of a block's shadow: the sum of its sides' areas, each by how far it faces the direction."""
    part = loaded(box((0, 0, 0), (40, 30, 10)))[0].part
    chart = height_map(part, way, AXES, cell_mm=0.2)
    shadow = float(np.abs(way) @ np.array([300.0, 400.0, 1200.0]))
    assert float((chart.face >= 0).sum()) * 0.04 == pytest.approx(shadow, rel=0.01)
    assert np.linalg.det(chart.axes) == pytest.approx(1.0)


def test_the_grid_turns_with_the_part() -> None:
    """A part moved and turned has the same map, seen along the turned direction with the turned axes."""
    part = block()
    straight = height_map(part, UP, AXES, cell_mm=0.5)
    turned = height_map(moved(part), TURN @ UP, TURN.T.copy(), cell_mm=0.5)
    assert np.ptp(turned.top_mm) == pytest.approx(np.ptp(straight.top_mm), abs=1e-9)
    assert sorted(turned.top_mm.shape) == sorted(straight.top_mm.shape)


def test_the_whole_map_has_no_more_cells_than_asked_for() -> None:
    """Cells grow with the part; a point is found in the cell that it lies over."""
    part = loaded(box((0, 0, 0), (400, 300, 10)))[0].part
    chart = height_map(part, UP, AXES)
    assert chart.top_mm.size <= 41_000
    place = chart.cells(np.array([[0.0, 0.0, 3.0], [400.0, 300.0, 3.0]]))
    middle = chart.corner_mm + chart.cell_mm * place
    assert np.abs(middle - np.array([[0.0, 0.0], [400.0, 300.0]]) @ chart.axes[:2, :2].T).max() <= chart.cell_mm
