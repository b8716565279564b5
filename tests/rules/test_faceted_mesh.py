import pytest

from analyzers.model.part import Part
from tests.rules import _builders as build
from tests.rules import _solids as solids

RULE = "faceted_mesh"


def mesh_of(triangles: int, others: int) -> Part:
    """Return a part of so many plane triangles and so many other faces."""
    faces = [solids.plane(solids.UP) for _ in range(triangles + others)]
    edges = [solids.Edge((i, i), 90.0, (1.0, 0.0, 0.0)) for i in range(triangles)]
    edges += [solids.Edge((i, (i + 1) % triangles), 90.0, (1.0, 0.0, 0.0)) for i in range(0, triangles, 2)]
    return solids.part_of(faces, edges)


def test_fires() -> None:
    """300 triangles among 400 faces."""
    (found,) = build.ask(RULE, build.case(part=mesh_of(300, 100)))
    assert build.told(found) == ("warning", pytest.approx(0.75), 0.5)
    assert "300 of 400 faces" in found.message


@pytest.mark.parametrize(
    ("triangles", "others"),
    [
        pytest.param(300, 300, id="exactly-half"),
        pytest.param(200, 0, id="exactly-two-hundred"),
        pytest.param(20, 0, id="a-faceted-knob"),
    ],
)
def test_stays_silent(triangles: int, others: int) -> None:
    """Few triangles, or few beside the rest."""
    assert build.ask(RULE, build.case(part=mesh_of(triangles, others))) == []
