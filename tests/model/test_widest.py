"""How large a part is, however it lies."""

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from analyzers.model.arrays import Floats, widest_mm
from fixtures.make.vocabulary.holes import drill
from fixtures.make.vocabulary.stock import block
from tests.kernel._solids import moved, part_of, turned_by

TURN = Rotation.from_euler("xyz", [31.0, -47.0, 112.0], degrees=True)


def scattered(count: int, flat: bool = False) -> Floats:
    """Return points in a ball, or in a disc, of radius 1, and the two ends of a diameter of 2.5 through its middle."""
    points = np.random.default_rng(3).normal(size=(count, 3))
    points /= np.maximum(np.linalg.norm(points, axis=1, keepdims=True), 1.0)
    if flat:
        points[:, 2] = 0.0
    return np.concatenate([points, [[1.25, 0.0, 0.0], [-1.25, 0.0, 0.0]]])


@pytest.mark.parametrize("count", [2, 40, 5000])
@pytest.mark.parametrize("flat", [False, True])
def test_it_is_the_distance_of_the_two_points_farthest_apart(count: int, flat: bool) -> None:
    """Few or many points, in space or in a plane, in any pose."""
    points = scattered(count, flat)
    assert widest_mm(points) == pytest.approx(2.5)
    assert widest_mm(TURN.apply(points) + np.array([100.0, -3.0, 7.0])) == pytest.approx(2.5)


def test_very_many_points_on_a_sphere() -> None:
    """All of them may be an end, in space or on a circle."""
    points = np.random.default_rng(4).normal(size=(3000, 3))
    points /= np.linalg.norm(points, axis=1, keepdims=True)
    assert widest_mm(points) == pytest.approx(2.0, abs=1e-3)
    points[:, 2] = 0.0
    points /= np.linalg.norm(points, axis=1, keepdims=True)
    assert widest_mm(points) == pytest.approx(2.0, abs=1e-3)


def test_no_point_and_one_point_have_no_size() -> None:
    """Nothing to measure between."""
    assert widest_mm(np.empty((0, 3))) == 0.0
    assert widest_mm(np.array([[3.0, 4.0, 5.0]])) == 0.0


def test_a_part_is_as_large_and_as_finely_meshed_in_every_pose() -> None:
    """A block's size is its diagonal; the mesh's chord error follows the size, not the box of the file's axes."""
    work = block((30.0, 20.0, 10.0))
    drill(work, (8.0, 8.0, 10.0), 5.0, 6.0)
    still = part_of(work.shape)
    turned = part_of(moved(work.shape, turned_by((0.3, -0.5, 0.8), 41.9, (31.7, -12.3, 55.1))))
    assert still.diagonal_mm == pytest.approx(np.sqrt(1400.0))
    assert turned.diagonal_mm == pytest.approx(still.diagonal_mm, abs=1e-9)
    assert turned.mesh.chord_mm == pytest.approx(still.mesh.chord_mm, rel=1e-9)
    assert len(turned.mesh.triangle) == len(still.mesh.triangle)
