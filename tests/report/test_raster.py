import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analyzers.model.arrays import Floats, Ints
from analyzers.report.raster import rasterise

WIDTH, HEIGHT = 60, 40
pixel = st.floats(-10, 70)
corner = st.tuples(pixel, pixel, st.floats(-5, 5))


def brute(triangles: Floats) -> Ints:
    """Return the nearest triangle of each pixel's centre, one by one, by the signs of three areas."""
    shown = np.full((HEIGHT, WIDTH), -1)
    for row in range(HEIGHT):
        for column in range(WIDTH):
            best = -np.inf
            for number, ((ax, ay, az), (bx, by, bz), (cx, cy, cz)) in enumerate(triangles):
                x, y = column + 0.5, row + 0.5
                whole = (bx - ax) * (cy - ay) - (cx - ax) * (by - ay)
                if abs(whole) < 1e-3:
                    continue
                b = ((x - ax) * (cy - ay) - (cx - ax) * (y - ay)) / whole
                c = ((bx - ax) * (y - ay) - (x - ax) * (by - ay)) / whole
                if b >= 0 and c >= 0 and b + c <= 1:
                    depth = az + b * (bz - az) + c * (cz - az)
                    if depth > best:
                        best, shown[row, column] = depth, number
    return shown


@settings(max_examples=25, deadline=None)
@given(st.lists(st.tuples(corner, corner, corner), min_size=1, max_size=4))
def test_agrees_with_testing_every_pixel(triangles: list[tuple[tuple[float, float, float], ...]]) -> None:
    """Spans and keys find the same nearest triangle as the definition; borders and equal depths may differ."""
    array = np.array(triangles)
    shown = rasterise(array, WIDTH, HEIGHT).triangle
    assert np.mean(shown != brute(array)) < 0.02


def test_two_halves_of_a_square_leave_no_gap() -> None:
    """Neighbours that share an edge cover every pixel between them."""
    a, b, c, d = (3.0, 2.0, 0.0), (41.0, 5.0, 0.0), (44.0, 33.0, 0.0), (6.0, 30.0, 0.0)
    whole = rasterise(np.array([[a, b, c], [a, c, d]]), WIDTH, HEIGHT).triangle >= 0
    rows = [np.flatnonzero(row) for row in whole if row.any()]
    assert all(np.ptp(row) + 1 == len(row) for row in rows)


def test_the_nearer_one_wins_whichever_comes_first() -> None:
    """Order in the list does not matter."""
    near = [(5.0, 5.0, 2.0), (50.0, 5.0, 2.0), (5.0, 35.0, 2.0)]
    far = [(5.0, 5.0, 1.0), (50.0, 5.0, 1.0), (5.0, 35.0, 1.0)]
    assert set(np.unique(rasterise(np.array([near, far]), WIDTH, HEIGHT).triangle)) == {-1, 0}
    assert set(np.unique(rasterise(np.array([far, near]), WIDTH, HEIGHT).triangle)) == {-1, 1}


def test_depth_is_interpolated() -> None:
    """On a slanted triangle the depth at a pixel is that of the plane."""
    tilted = np.array([[(0.0, 0.0, 0.0), (60.0, 0.0, 6.0), (0.0, 40.0, 0.0)]])
    raster = rasterise(tilted, WIDTH, HEIGHT)
    assert raster.near[5, 20] == pytest.approx(2.05, abs=1e-6)


@pytest.mark.parametrize(
    "triangles",
    [
        pytest.param(np.zeros((0, 3, 3)), id="none"),
        pytest.param(np.array([[(1.0, 1.0, 0.0), (5.0, 5.0, 0.0), (9.0, 9.0, 0.0)]]), id="seen-edge-on"),
        pytest.param(np.array([[(-9.0, -9.0, 0.0), (-5.0, -9.0, 0.0), (-9.0, -5.0, 0.0)]]), id="outside"),
    ],
)
def test_draws_nothing(triangles: Floats) -> None:
    """What covers no pixel leaves the background."""
    assert (rasterise(triangles, WIDTH, HEIGHT).triangle == -1).all()
