"""Bodies that are one solid written several times are found; mirrored and merely similar ones are not."""

import pytest
from OCP.gp import gp_Trsf

from analyzers.kernel.twins import same_solid
from fixtures.make.vocabulary.blends import chamfer_edges
from fixtures.make.vocabulary.holes import drill
from fixtures.make.vocabulary.raised import round_boss
from fixtures.make.vocabulary.recesses import pocket
from fixtures.make.vocabulary.stock import block
from fixtures.make.vocabulary.work import Work
from tests.kernel._solids import as_splines, mirrored_in, moved, part_of, scaled_by, shuffled, turned_by


def handed(diameter: float = 5.0, x: float = 9.0) -> Work:
    """Return a part that is not its own mirror image: pocket, hole and boss at three different corners."""
    work = block((60.0, 40.0, 15.0))
    pocket(work, (18.0, 13.0, 15.0), 20.0, 12.0, 6.0, corner_radius=3.0)
    drill(work, (x, 33.0, 15.0), diameter, 15.0, bottom="through")
    round_boss(work, (48.0, 30.0, 15.0), 8.0, 5.0)
    return work


def even() -> Work:
    """Return a part that is its own mirror image: a plate with two equal holes."""
    work = block((60.0, 40.0, 15.0))
    for x in (15.0, 45.0):
        drill(work, (x, 20.0, 15.0), 6.0, 15.0, bottom="through")
    return work


MOVES = [
    pytest.param(turned_by((0.0, 0.0, 1.0), 0.0, (100.0, 0.0, 0.0)), id="shifted"),
    pytest.param(turned_by((0.0, 0.0, 1.0), 90.0), id="quarter-turn"),
    pytest.param(turned_by((1.0, 0.0, 0.0), 180.0), id="turned-over"),
    pytest.param(turned_by((0.3, -0.5, 0.8), 137.0, (5000.0, -300.0, 20.0)), id="askew-and-far"),
]
MIRRORS = [
    pytest.param(mirrored_in((1.0, 0.0, 0.0)), id="mirror-x"),
    pytest.param(mirrored_in((0.0, 0.0, 1.0)), id="mirror-z"),
    pytest.param(mirrored_in((0.3, -0.5, 0.8), (10.0, 20.0, 5.0)), id="mirror-askew"),
]


@pytest.mark.parametrize("move", MOVES)
def test_a_moved_copy_is_the_same_solid(move: gp_Trsf) -> None:
    """Turned and shifted copies count as one."""
    work = handed()
    assert same_solid(part_of(work.shape), part_of(moved(work.shape, move)))


@pytest.mark.parametrize("seed", [1, 2, 3])
@pytest.mark.parametrize("move", MOVES)
def test_a_moved_copy_with_its_faces_in_another_order_is_the_same_solid(move: gp_Trsf, seed: int) -> None:
    """A writer that lists the faces otherwise has still written the same part."""
    work = handed()
    assert same_solid(part_of(work.shape), part_of(shuffled(moved(work.shape, move), seed)))


@pytest.mark.parametrize("mirror", MIRRORS)
def test_a_mirror_copy_is_another_part(mirror: gp_Trsf) -> None:
    """Left and right hand parts are two, in whatever order their faces come."""
    work = handed()
    assert not same_solid(part_of(work.shape), part_of(moved(work.shape, mirror)))
    assert not same_solid(part_of(work.shape), part_of(shuffled(moved(work.shape, mirror), 5)))


@pytest.mark.parametrize("mirror", MIRRORS)
def test_the_mirror_copy_of_an_even_part_is_the_same_part(mirror: gp_Trsf) -> None:
    """What is its own mirror image has no hand."""
    work = even()
    assert same_solid(part_of(work.shape), part_of(moved(work.shape, mirror)))


def test_a_spline_copy_is_the_same_solid() -> None:
    """One copy written exactly, the other as B-splines: one part."""
    work = handed()
    assert same_solid(part_of(work.shape), part_of(as_splines(work.shape)))


def chamfered() -> Work:
    """Return the handed part with one edge broken."""
    work = handed()
    chamfer_edges(work, [(30.0, 0.0, 15.0)], 1.0)
    return work


OTHERS = [
    pytest.param(lambda: handed(diameter=5.01).shape, id="a-hole-larger-by-0.01"),
    pytest.param(lambda: handed(x=9.01).shape, id="a-hole-0.01-aside"),
    pytest.param(lambda: chamfered().shape, id="one-edge-broken"),
    pytest.param(lambda: even().shape, id="another-part"),
    pytest.param(lambda: moved(handed().shape, scaled_by(1.001)), id="a-thousandth-larger"),
]


@pytest.mark.parametrize("other", OTHERS)
def test_a_part_that_differs_anywhere_is_another(other: object) -> None:
    """A hole 0.01 mm larger or aside, one more face, another scale: not the same."""
    assert callable(other)
    assert not same_solid(part_of(handed().shape), part_of(other()))
