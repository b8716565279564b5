import pytest

from analyzers.model.arrays import Vec
from tests.rules import _builders as build
from tests.rules import _solids as solids

RULE = "sheet_like_part"


def test_fires() -> None:
    """200 x 100 x 3: the two sides are 40,000 of 41,800 mm²."""
    (found,) = build.ask(RULE, build.case(part=solids.block(size=(200.0, 100.0, 3.0))))
    assert build.told(found) == ("note", pytest.approx(40000.0 / 41800.0), 0.85)
    assert "3 mm sheet" in found.suggestion


def test_fires_wherever_the_part_lies() -> None:
    """Turned about no axis of the frame."""
    part = solids.moved(solids.block(size=(200.0, 100.0, 3.0)))
    assert len(build.ask(RULE, build.case(part=part))) == 1


@pytest.mark.parametrize(
    "size",
    [
        pytest.param((60.0, 40.0, 20.0), id="block"),
        pytest.param((200.0, 100.0, 6.5), id="too-thick-for-sheet"),
        pytest.param((20.0, 10.0, 0.1), id="foil"),
        pytest.param((68.0, 68.0, 6.0), id="exactly-at-the-limit"),
    ],
)
def test_stays_silent(size: Vec) -> None:
    """Blocks and plates: 68 x 68 x 6 has 9248 of 10880 mm², just 0.85, in its two sides."""
    assert build.ask(RULE, build.case(part=solids.block(size=size))) == []


def test_stays_silent_where_no_sides_are_opposite() -> None:
    """A body without planes."""
    assert build.ask(RULE, build.case(part=solids.part_of([solids.cylinder(solids.UP, 5.0, concave=False)]))) == []
