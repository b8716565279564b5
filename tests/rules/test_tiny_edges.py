import pytest

from analyzers.model.part import Curve, Part
from tests.rules import _builders as build
from tests.rules import _solids as solids

RULE = "tiny_edges"


def edges(*lengths: float, curve: Curve = Curve.LINE) -> Part:
    """Return a part of two faces with edges of these lengths between them."""
    faces = [solids.plane(solids.UP), solids.plane((1.0, 0.0, 0.0))]
    return solids.part_of(faces, [solids.Edge((0, 1), 90.0, (0.0, 1.0, 0.0), length, curve) for length in lengths])


def test_fires() -> None:
    """Two edges of hundredths among longer ones."""
    (found,) = build.ask(RULE, build.case(part=edges(10.0, 0.015, 0.004)))
    assert build.told(found) == ("warning", 0.004, 0.02)
    assert found.faces == (0, 1)
    assert found.message.startswith("2 edges are shorter")


@pytest.mark.parametrize(
    "part",
    [
        pytest.param(edges(10.0, 3.0), id="long"),
        pytest.param(edges(0.02), id="exactly-at-the-limit"),
        pytest.param(edges(0.0, curve=Curve.DEGENERATE), id="tip-of-a-cone"),
        pytest.param(solids.part_of([solids.plane(solids.UP)]), id="no-edges-at-all"),
    ],
)
def test_stays_silent(part: Part) -> None:
    """Edges that somebody drew."""
    assert build.ask(RULE, build.case(part=part)) == []
