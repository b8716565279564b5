"""Gaps between faces that look at one another across the air."""

import pytest
from OCP.TopoDS import TopoDS_Shape

from analyzers.features.pocket import ClosedPocket
from analyzers.measures import take_all
from tests.measures._shapes import askew, box, cut, featured, fuse, hole, loaded, pocket, prism, rod, taken

PLATE = box((0, 0, 0), (99, 99, 5))
SLOTTED = cut(box((0, 0, 0), (60, 40, 20)), box((25, -1, 8), (31, 41, 21)))


@pytest.mark.parametrize(
    ("shape", "expected"),
    [
        pytest.param(SLOTTED, 6.0, id="slot"),
        pytest.param(fuse(box((0, 0, 0), (60, 40, 5)), rod((20, 20, 5), 4, 9), rod((33, 20, 5), 5, 9)), 4.0, id="pins"),
        pytest.param(
            fuse(box((0, 0, 0), (99, 99, 5)), rod((30, 30, 5), 1, 9), rod((36, 38, 5), 1, 9)), 8.0, id="far-pins"
        ),
        pytest.param(
            cut(box((0, 0, 0), (60, 50, 30)), box((25, -1, 18), (35, 51, 31)), box((20, -1, 12), (40, 51, 18))),
            6.0,
            id="T-slot-is-lower-than-it-is-wide",
        ),
        pytest.param(cut(box((0, 0, 0), (60, 40, 20)), rod((30, 20, 5), 9, 20)), 18.0, id="round-pocket"),
    ],
)
def test_the_gap_is_as_wide_as_it_was_cut(shape: TopoDS_Shape, expected: float) -> None:
    """The narrowest clear way between two faces, at its place on one of them."""
    gap = taken("min_gap_mm", *loaded(askew(shape)))
    assert gap.value == pytest.approx(expected, abs=1e-3)
    assert gap.point_mm is not None


@pytest.mark.parametrize(
    "shape",
    [
        pytest.param(box((0, 0, 0), (60, 40, 20)), id="block"),
        pytest.param(cut(box((0, 0, 0), (60, 40, 20)), box((-1, -1, 10), (20, 41, 21))), id="step"),
        pytest.param(cut(box((0, 0, 0), (60, 40, 20)), prism([(30, 10), (45, 21), (15, 21)], 50)), id="V-groove"),
        pytest.param(rod((0, 0, 0), 10, 30), id="rod"),
    ],
)
def test_open_shapes_have_no_gap(shape: TopoDS_Shape) -> None:
    """Where faces look past one another, or only meet in a corner, no gap is reported and nothing is wrong."""
    gap = taken("min_gap_mm", *loaded(askew(shape)))
    assert gap.value is None
    assert not gap.applies


def test_the_inside_of_a_hole_is_no_gap() -> None:
    """A 3 mm hole beside a 6 mm slot: the slot is the narrowest gap."""
    facts, geometry = loaded(cut(SLOTTED, rod((10, 10, -1), 1.5, 30)))
    assert taken("min_gap_mm", facts, geometry).value == pytest.approx(3.0)
    facts = featured(facts, hole(facts.part, (9, 9, 5), (11, 11, 15)))
    assert taken("min_gap_mm", facts, geometry).value == pytest.approx(6.0)


@pytest.mark.parametrize(
    ("island", "expected"),
    [
        pytest.param(box((30, 16, 4), (50, 24, 20)), 6.0, id="off-the-middle"),
        pytest.param(rod((40, 20, 4), 7, 16), 3.0, id="round"),
        pytest.param(None, 20.0, id="none"),
    ],
)
def test_a_pocket_knows_its_narrowest_way(island: TopoDS_Shape | None, expected: float) -> None:
    """A pocket of 60 x 20 mm with an island of its own faces: past it, or across where there is none."""
    shape = cut(box((0, 0, 0), (80, 40, 20)), box((10, 10, 4), (70, 30, 21)))
    facts, geometry = loaded(shape if island is None else fuse(shape, island))
    facts = featured(facts, pocket(facts.part, (9, 9, 3), (71, 31, 19.9)))
    (known,) = take_all(facts, geometry)[0].features
    assert isinstance(known, ClosedPocket)
    assert known.passage_mm == pytest.approx(expected, abs=1e-3)
