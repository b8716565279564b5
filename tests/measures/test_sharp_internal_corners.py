"""Sharp inside corners: which no cutter makes, and which another setup does."""

import pytest
from OCP.TopoDS import TopoDS_Shape

from tests.measures._shapes import Vec, askew, box, broken, cut, featured, loaded, pocket, taken, turned

BLOCK = box((0, 0, 0), (60, 40, 20))
INSIDE: tuple[Vec, Vec] = (0.5, 0.5, 0.5), (59.5, 39.5, 19.5)


@pytest.mark.parametrize(
    ("shape", "corners", "open_aside"),
    [
        pytest.param(cut(BLOCK, box((10, 10, 8), (50, 30, 21))), 4, 0, id="closed-pocket"),
        pytest.param(cut(BLOCK, box((10, 10, -1), (50, 30, 21))), 4, 0, id="window"),
        pytest.param(cut(BLOCK, box((10, -1, 8), (50, 30, 21))), 2, 2, id="open-at-one-side"),
        pytest.param(cut(BLOCK, box((-1, -1, 8), (50, 30, 21))), 1, 1, id="open-at-two-sides"),
        pytest.param(cut(BLOCK, box((10, -1, 8), (50, 41, 21))), 0, 0, id="slot-right-through"),
        pytest.param(cut(BLOCK, box((30, -1, 8), (61, 41, 21))), 0, 0, id="step"),
        pytest.param(
            cut(BLOCK, broken(box((10, 10, 8), (50, 30, 40)), 4.0, rounded=True)), 0, 0, id="pocket-with-radii"
        ),
    ],
)
def test_only_corners_between_walls_count(shape: TopoDS_Shape, corners: int, open_aside: int) -> None:
    """A floor's edges are cut by the end of the mill; upright corners are not, unless from another side."""
    facts, geometry = loaded(shape)
    facts = featured(facts, pocket(facts.part, *INSIDE))
    counted = taken("sharp_internal_corners", facts, geometry)
    assert counted.value == corners
    assert taken("sharp_corners_open_aside", facts, geometry).value == open_aside
    if corners:
        assert counted.feature == "F1"
        assert counted.point_mm is not None
        assert counted.point_mm[2] > 0


@pytest.mark.parametrize(
    ("shape", "corners"),
    [
        pytest.param(cut(BLOCK, box((10, 10, 8), (50, 30, 21))), 4, id="closed-pocket"),
        pytest.param(cut(BLOCK, box((10, -1, 8), (50, 41, 21))), 0, id="slot-right-through"),
        pytest.param(turned([(0, 0), (10, 0), (10, 20), (6, 20), (6, 40), (0, 40)]), 0, id="turned-shoulder"),
        pytest.param(BLOCK, 0, id="block"),
    ],
)
def test_faces_of_no_feature_are_judged_by_what_is_open(shape: TopoDS_Shape, corners: int) -> None:
    """Without features an edge counts where the way to it is barred along both its faces' normals."""
    assert taken("sharp_internal_corners", *loaded(askew(shape))).value == corners
