"""Samples: even, complete, the same every time."""

import numpy as np
import pytest

from analyzers.measures._facing import facing_samples
from analyzers.measures._sample import spread, spread_over
from analyzers.model.part import Surface
from analyzers.tolerance import SAMPLES_SMALL_FACE
from tests.measures._shapes import askew, box, cut, loaded, rod

PLATE = cut(box((0, 0, 0), (200, 100, 10)), rod((20, 20, -1), 1, 12), rod((26, 28, -1), 1, 12))


def test_every_face_has_samples_on_it() -> None:
    """A pin hole in a large plate is looked at too, and every sample lies on the face it names."""
    facts, _ = loaded(askew(PLATE))
    samples = spread(facts.part)
    assert np.bincount(samples.face).min() >= SAMPLES_SMALL_FACE
    flat = np.isnan(facts.part.face_radius_mm[samples.face])
    off = np.einsum("ij,ij->i", samples.point_mm - facts.part.face_origin_mm[samples.face], samples.normal)
    assert np.abs(off[flat]).max() < 1e-9


def test_areas_add_up_to_the_meshes() -> None:
    """What the samples stand for is the whole surface, once."""
    facts, _ = loaded(askew(PLATE))
    samples = spread(facts.part)
    by_face = np.bincount(samples.face, weights=samples.area_mm2)
    assert by_face == pytest.approx(facts.part.face_area_mm2, rel=0.05)


def test_samples_are_spread_evenly() -> None:
    """Each quarter of a rectangle gets its quarter of the samples, within a few."""
    facts, _ = loaded(box((0, 0, 0), (80, 40, 10)))
    count = np.zeros(facts.part.n_faces, dtype=np.int64)
    top = int(np.argmax(facts.part.face_normal[:, 2]))
    count[top] = 400
    point = spread_over(facts.part.mesh, count).point_mm
    quarter = (point[:, 0] > 40).astype(int) * 2 + (point[:, 1] > 20).astype(int)
    assert np.bincount(quarter, minlength=4) == pytest.approx(100, abs=8)


def test_the_same_part_gives_the_same_samples() -> None:
    """No chance in it."""
    first, second = (spread(loaded(PLATE)[0].part) for _ in range(2))
    assert np.array_equal(first.point_mm, second.point_mm)


def test_two_fine_holes_look_at_one_another() -> None:
    """Each has a sample on the line between their axes, pointing at the other's; block faces have none."""
    facts, geometry = loaded(PLATE)
    samples = facing_samples(facts.part, geometry, through=1.0)
    between = np.array([6.0, 8.0, 0.0]) / 10.0
    assert np.count_nonzero(np.abs(samples.normal @ between) > 1.0 - 1e-9) == 2
    assert (facts.part.face_surface[samples.face] == Surface.CYLINDER).all()
    assert len(facing_samples(facts.part, geometry, through=-1.0).face) == 0


def test_a_hole_looks_square_at_the_four_sides_of_its_block() -> None:
    """At three heights each; the two faces that it pierces are not beside it."""
    facts, geometry = loaded(cut(box((0, 0, 0), (30, 20, 10)), rod((9, 8, -1), 2.0, 12)))
    samples = facing_samples(facts.part, geometry, through=1.0)
    looks = {tuple(np.round(each).astype(int).tolist()) for each in -samples.normal}
    assert looks == {(1, 0, 0), (-1, 0, 0), (0, 1, 0), (0, -1, 0)}
    assert len(samples.face) == 12


def test_a_hole_does_not_look_at_a_wall_that_ends_above_it() -> None:
    """The step's wall lies beside a blind hole's axis but higher than the hole reaches."""
    block = cut(box((0, 0, 0), (30, 20, 20)), box((-1, 12, 12), (31, 21, 21)), rod((9, 8, -1), 2.0, 10))
    facts, geometry = loaded(block)
    samples = facing_samples(facts.part, geometry, through=1.0)
    assert samples.point_mm[:, 2].max() < 9.0
