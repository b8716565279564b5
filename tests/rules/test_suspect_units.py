import pytest

from tests.rules import _builders as build
from tests.rules import _solids as solids

RULE = "suspect_units"


def test_fires() -> None:
    """Holes of 0.201, 0.25 and 0.3125: No.7, 1/4 and 5/16 in, read as millimetres."""
    part = solids.block(size=(4.0, 2.0, 1.0))
    holes = [build.hole(each, 0.5) for each in (0.201, 0.25, 0.3125)]
    (found,) = build.ask(RULE, build.case(*holes, part=part))
    assert (found.level, found.measured) == ("warning", 3)
    assert "drawn in inches and read as millimetres" in found.message
    assert "4 mm long, or 101.6 mm" in found.suggestion


@pytest.mark.parametrize(
    "diameters",
    [
        pytest.param((5.0, 6.6, 11.0), id="they-make-sense"),
        pytest.param((0.201,), id="exactly-one-size-says-nothing"),
        pytest.param((), id="no-holes"),
    ],
)
def test_stays_silent(diameters: tuple[float, ...]) -> None:
    """Sizes that make sense, or too few to tell."""
    assert build.ask(RULE, build.case(*(build.hole(each) for each in diameters))) == []
