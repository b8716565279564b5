import pytest

from analyzers.features.edge_round import EdgeRound
from analyzers.model.arrays import Vec
from analyzers.model.part import Part, Surface
from analyzers.model.report import MadeBy
from tests.rules import _builders as build
from tests.rules import _solids as solids

RULE = "outside_round"


def rounded(axis: Vec) -> Part:
    """Return a part with one rounded outside edge along an axis, its face 0."""
    return solids.part_of([solids.cylinder(axis, 3.0, concave=False, span=90.0)])


def test_fires() -> None:
    """An edge of the top face, rounded: the spindle stands across it."""
    one = build.case(
        build.edge_round(3.0, faces=(0,)), build.edge_round(1.0, faces=(0,)), part=rounded((1.0, 0.0, 0.0))
    )
    (found,) = build.ask(RULE, one)
    assert build.told(found) == ("note", 2, 0.0)
    assert "R1, R3" in found.message
    assert "3 × 45°" in found.suggestion


@pytest.mark.parametrize(
    ("axis", "features", "made_by"),
    [
        pytest.param(
            solids.UP, (build.edge_round(3.0, faces=(0,)),), build.MILLED, id="upright-edge-is-milled-going-round"
        ),
        pytest.param((1.0, 0.0, 0.0), (), build.MILLED, id="exactly-none"),
        pytest.param(
            (1.0, 0.0, 0.0),
            (build.edge_round(3.0, faces=(0,)),),
            MadeBy(process="turned", why="round about one axis"),
            id="a-lathe-rounds-for-nothing",
        ),
        pytest.param((1.0, 0.0, 0.0), (build.edge_round(None, faces=(0,)),), build.MILLED, id="radius-not-measured"),
    ],
)
def test_stays_silent(axis: Vec, features: tuple[EdgeRound, ...], made_by: MadeBy) -> None:
    """Rounds that cost nothing."""
    assert build.ask(RULE, build.case(*features, part=rounded(axis), made_by=made_by)) == []


def test_round_that_goes_round_a_corner_is_not_upright() -> None:
    """A blend with a torus at its corner is no cylinder along the spindle."""
    faces = [solids.cylinder(solids.UP, 3.0, concave=False, span=90.0), solids.Face(Surface.TORUS, solids.UP)]
    one = build.case(build.edge_round(3.0, faces=(0, 1)), part=solids.part_of(faces))
    assert len(build.ask(RULE, one)) == 1
