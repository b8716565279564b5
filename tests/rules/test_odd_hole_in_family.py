from dataclasses import replace

import pytest

from tests.rules import _builders as build

RULE = "odd_hole_in_family"


def test_fires() -> None:
    """Seven holes of 5 and one of 5.05."""
    holes = [build.hole(5.0) for _ in range(7)]
    (found,) = build.ask(RULE, build.case(*holes[:3], build.hole(5.05), *holes[3:]))
    assert build.told(found) == ("warning", pytest.approx(0.01), 0.03)
    assert found.features == ("F4",)
    assert "7 others of ⌀5" in found.message


@pytest.mark.parametrize(
    "diameters",
    [
        pytest.param((5.0, 5.0, 5.0, 5.0), id="all-alike"),
        pytest.param((5.0, 5.0, 5.0, 5.15), id="exactly-far-enough-apart"),
        pytest.param((5.0, 5.0, 5.0, 8.0), id="meant-to-differ"),
        pytest.param((5.0, 5.0, 5.05), id="two-are-no-family"),
        pytest.param((5.0, 5.0, 5.0, 5.05, 5.05), id="two-odd-ones-are-another-family"),
    ],
)
def test_stays_silent(diameters: tuple[float, ...]) -> None:
    """No family, or nobody odd in it."""
    assert build.ask(RULE, build.case(*(build.hole(each) for each in diameters))) == []


def test_other_directions_are_other_families() -> None:
    """A hole from the side has nothing to do with those from above."""
    aside = replace(build.hole(5.05), direction=(1.0, 0.0, 0.0))
    assert build.ask(RULE, build.case(build.hole(), build.hole(), build.hole(), aside)) == []
