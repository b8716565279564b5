"""The length of outside edges that nothing has broken."""

import math

import pytest
from OCP.TopoDS import TopoDS_Shape

from tests.measures._shapes import askew, box, broken, cut, loaded, prism, rod, taken

BLOCK = box((0, 0, 0), (60, 40, 20))
HEXAGON = [(10 * math.cos(math.radians(60 * k)), 10 * math.sin(math.radians(60 * k))) for k in range(6)]


@pytest.mark.parametrize(
    ("shape", "expected"),
    [
        pytest.param(BLOCK, 4 * (60 + 40 + 20), id="block"),
        pytest.param(rod((0, 0, 0), 10, 30), 2 * 2 * math.pi * 10, id="rod"),
        pytest.param(cut(BLOCK, rod((30, 20, -1), 5, 30)), 480 + 2 * 2 * math.pi * 5, id="hole-rims-count"),
        pytest.param(cut(BLOCK, box((10, 10, 8), (50, 30, 21))), 480 + 2 * (40 + 20), id="inside-corners-do-not"),
        pytest.param(prism(HEXAGON, 30), 6 * 30 + 2 * 6 * 10, id="hexagon"),
    ],
)
def test_sharp_edges_add_up(shape: TopoDS_Shape, expected: float) -> None:
    """The length of all convex edges, wherever the body stands."""
    assert taken("external_sharp_edge_length_mm", *loaded(askew(shape))).value == pytest.approx(expected, rel=1e-6)


@pytest.mark.parametrize("rounded", [False, True], ids=["chamfered", "rounded"])
def test_broken_edges_do_not_count(rounded: bool) -> None:
    """A block with every edge chamfered or rounded has none, which is 0 and not nothing."""
    length = taken("external_sharp_edge_length_mm", *loaded(askew(broken(BLOCK, 2.0, rounded))))
    assert length.value == 0.0


def test_the_rim_of_a_steep_chamfer_counts_only_where_it_was_not_recognised() -> None:
    """A 20 degree lead-in leaves edges of 110 and 160 degrees; as a chamfer it is the broken edge itself."""
    rise = 20 * math.tan(math.radians(20))
    shape = prism([(0, 0), (40, 0), (40 - rise, 20), (0, 20)], 30)
    facts, geometry = loaded(shape, "outer")
    assert taken("external_sharp_edge_length_mm", facts, geometry).value == pytest.approx(
        2 * (40 + 40 - rise + 20 + 20 / math.cos(math.radians(20))) + 4 * 30
    )
    facts, geometry = loaded(shape, "chamfer")
    assert taken("external_sharp_edge_length_mm", facts, geometry).value == 0.0
