import pytest

from analyzers.model.part import Part, Surface
from analyzers.rules.sliver_faces import face_width_mm
from tests.rules import _builders as build
from tests.rules import _solids as solids

RULE = "sliver_faces"


def strip(width: float, length: float = 1000.0) -> Part:
    """Return a long strip beside a wide face; a strip so long is 2 A / P = width, less a part in a thousand."""
    around = [
        solids.Edge((0, 1), 90.0, (1.0, 0.0, 0.0), length),
        solids.Edge((0, 1), 90.0, (1.0, 0.0, 0.0), length),
    ]
    return solids.part_of(
        [solids.plane(solids.UP, area=width * length), solids.plane((0.0, 1.0, 0.0), area=1e6)], around
    )


def test_fires() -> None:
    """A strip of 0.01 mm."""
    (found,) = build.ask(RULE, build.case(part=strip(0.01)))
    assert build.told(found) == ("warning", pytest.approx(0.01), 0.02)
    assert found.faces == (0,)


@pytest.mark.parametrize(
    "part",
    [
        pytest.param(strip(0.02), id="exactly-at-the-limit"),
        pytest.param(strip(1.0), id="narrow-but-meant"),
        pytest.param(solids.part_of([solids.Face(Surface.SPHERE, solids.UP)]), id="sphere-without-outline"),
    ],
)
def test_stays_silent(part: Part) -> None:
    """Faces with width, and those without an outline."""
    assert build.ask(RULE, build.case(part=part)) == []


def test_square_counts_half_its_side() -> None:
    """2 A / P of a square is half its side: the measure is meant for strips and errs to the safe side elsewhere."""
    sides = [solids.Edge((0, 1), 90.0, (1.0, 0.0, 0.0), 10.0) for _ in range(4)]
    part = solids.part_of([solids.plane(solids.UP, area=100.0), solids.plane(solids.UP, area=1e6)], sides)
    assert face_width_mm(part)[0] == pytest.approx(5.0)
