import pytest

from analyzers.model.arrays import Vec
from analyzers.model.part import Part
from analyzers.model.report import MadeBy
from tests.rules import _builders as build
from tests.rules import _solids as solids

RULE = "turned_length_ratio"
AXIS: Vec = (0.0, 0.6, 0.8)


def shaft(length: float) -> Part:
    """Return a part whose ends lie that far apart along the axis."""
    ends: list[Vec] = [(7.0, 3.0, 2.0), (7.0, 3.0 + 0.6 * length, 2.0 + 0.8 * length)]
    return solids.part_of([solids.cylinder(AXIS, 5.0, concave=False)], vertices=ends)


def turned(axis: Vec | None = AXIS) -> MadeBy:
    """Return that the part is turned."""
    return MadeBy(process="turned", why="round about one axis", axis=axis)


@pytest.mark.parametrize(("length", "limit", "support"), [(40.0, 3.0, "a centre"), (101.0, 10.0, "a steady")])
def test_fires(length: float, limit: float, support: str) -> None:
    """⌀10 and more than three, or ten, diameters long, about an axis askew in the frame."""
    one = build.case(build.outer_round(10.0, length), build.outer_round(6.0, 5.0), part=shaft(length), made_by=turned())
    (found,) = build.ask(RULE, one)
    assert build.told(found) == ("note", pytest.approx(length / 10.0), limit)
    assert support in found.message


@pytest.mark.parametrize(
    ("length", "made_by"),
    [
        pytest.param(30.0, turned(), id="exactly-three-diameters"),
        pytest.param(15.0, turned(), id="short"),
        pytest.param(200.0, build.MILLED, id="milled"),
        pytest.param(200.0, turned(None), id="axis-not-known"),
    ],
)
def test_stays_silent(length: float, made_by: MadeBy) -> None:
    """Short, or not turned about a known axis."""
    one = build.case(build.outer_round(10.0, length), part=shaft(length), made_by=made_by)
    assert build.ask(RULE, one) == []
