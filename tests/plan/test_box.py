"""The smallest box around solids that lie askew, and around shapes without flats."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation

from analyzers.model.arrays import Floats
from analyzers.plan.box import smallest_box
from analyzers.plan.frame import Frame, frame_of
from tests.measures._shapes import askew, ball, box, cut, loaded, prism
from tests.plan._builders import block


def plain(point_mm: Floats) -> Frame:
    """Return the box along the model's own axes."""
    return Frame(axes=np.eye(3), low_mm=point_mm.min(axis=0), high_mm=point_mm.max(axis=0))


@given(turn=st.tuples(st.floats(-180, 180), st.floats(-90, 90), st.floats(-180, 180)))
def test_a_turned_block_has_its_own_lengths(turn: tuple[float, float, float]) -> None:
    """Whatever way a block lies, its box is the block."""
    corner = block().mesh.point_mm
    lengths = np.sort(np.ptp(corner, axis=0))[::-1]
    turned = corner @ Rotation.from_euler("xyz", turn, degrees=True).as_matrix().T
    size, axes = smallest_box(turned, plain(turned))
    assert float(np.prod(size)) <= float(np.prod(lengths)) / 0.99 + 1e-6
    assert axes @ axes.T == pytest.approx(np.eye(3), abs=1e-9)
    assert np.ptp(turned @ axes.T, axis=0) == pytest.approx(size, abs=1e-6)


def test_a_bracket_askew_is_boxed_along_its_sides() -> None:
    """An L of 60 x 40 x 30 mm, turned about no special axis: 60 x 40 x 30."""
    part = loaded(askew(cut(box((0, 0, 0), (60, 40, 30)), box((20, -1, 10), (61, 41, 31)))))[0].part
    size, _ = smallest_box(part.mesh.point_mm, frame_of(part))
    assert size == pytest.approx([60, 40, 30], abs=1e-6)


def test_turning_for_no_gain_is_left_alone() -> None:
    """A right-angled triangle has two boxes of one size: the one along its legs is told."""
    part = loaded(prism([(0, 0), (40, 0), (0, 40)], 10))[0].part
    size, _ = smallest_box(part.mesh.point_mm, frame_of(part))
    assert float(np.prod(size)) == pytest.approx(40 * 40 * 10, rel=1e-6)  # 56.57 x 28.28 is as large


def test_a_ball_keeps_the_box_of_the_model() -> None:
    """Nothing is gained by turning: the exact lengths of the model's own box stay."""
    part = loaded(ball((0, 0, 0), 10))[0].part
    assert smallest_box(part.mesh.point_mm, frame_of(part))[0] == pytest.approx([20, 20, 20], abs=1e-6)


def test_what_is_flat_has_a_box_too() -> None:
    """Points in one plane have no hull: the box along the axes."""
    flat = np.array([[0.0, 0, 0], [10, 0, 0], [10, 5, 0], [0, 5, 0]])
    assert smallest_box(flat, plain(flat))[0].tolist() == [10.0, 5.0, 0.0]
