import numpy as np
import pytest

from analyzers.model.arrays import vec
from analyzers.model.part import Part
from analyzers.plan.frame import direction_name, frame_of
from tests.plan._builders import block, moved, prism, turned


def test_a_block_keeps_the_order_of_the_model_axes() -> None:
    """Sizes come as X, Y, Z where the part lies along the model's axes, whichever side is the largest."""
    for size in ((60.0, 40.0, 20.0), (20.0, 60.0, 40.0), (40.0, 20.0, 60.0)):
        assert frame_of(block(size)).size_mm == pytest.approx(size)


def test_an_askew_block_is_as_large_as_a_straight_one() -> None:
    """The box follows the part, not the model's axes."""
    askew = moved(block((60.0, 40.0, 20.0)))
    assert sorted(askew.size_mm) != pytest.approx([20.0, 40.0, 60.0])
    assert sorted(frame_of(askew).size_mm) == pytest.approx([20.0, 40.0, 60.0])


def test_a_chamfered_side_does_not_turn_the_frame() -> None:
    """The sloped face is smaller than the others together, so it is no main direction."""
    sloped = prism([(0.0, 0.0), (40.0, 0.0), (40.0, 15.0), (35.0, 20.0), (0.0, 20.0)], 60.0)
    assert np.array_equal(frame_of(sloped).axes, np.eye(3))


def test_a_turning_axis_comes_first_where_it_is_given() -> None:
    """A shaft that lies askew has its axis as the first direction, and its length along it."""
    shaft = moved(turned([(0.0, 10.0), (80.0, 10.0)], axis=2))
    axis = shaft.face_axis[0]
    frame = frame_of(shaft, vec(axis))
    assert frame.axes[0] == pytest.approx(axis)
    assert frame.size_mm[0] == pytest.approx(80.0)


@pytest.mark.parametrize("part", [block(), moved(block()), turned([(0.0, 5.0), (30.0, 5.0)], axis=1)])
def test_the_three_directions_are_square_and_right_handed(part: Part) -> None:
    """Whatever the part, the frame is a proper set of axes."""
    axes = frame_of(part).axes
    assert np.allclose(axes @ axes.T, np.eye(3))
    assert np.linalg.det(axes) == pytest.approx(1.0)


def test_flat_faces_on_the_box_are_told_from_those_within() -> None:
    """A step's two faces and a slope lie within the box; the six others on it."""
    part = prism([(0.0, 0.0), (40.0, 0.0), (40.0, 20.0), (25.0, 20.0), (25.0, 12.0), (0.0, 12.0)], 50.0)
    assert np.flatnonzero(~frame_of(part).on_box(part)).tolist() == [3, 4]


def test_directions_are_named_as_a_shop_does() -> None:
    """Along an axis by its sign and letter, else by components, without minus zeros."""
    assert direction_name((0.0, 0.0, 1.0)) == "+Z"
    assert direction_name((-1.0, 0.0, -0.0)) == "-X"
    assert direction_name((0.6, 1e-17, -0.8)) == "(0.6, 0, -0.8)"
