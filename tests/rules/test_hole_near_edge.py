import pytest

from analyzers.model.measure import ThinPlace
from tests.rules import _builders as build

RULE = "hole_near_edge"


@pytest.mark.parametrize(
    ("web", "level", "limit"),
    [(0.8, "warning", 1.0), (2.0, "note", 2.5)],
)
def test_fires(web: float, level: str, limit: float) -> None:
    """Thinner than the material's wall, or than half the 5 mm diameter."""
    (found,) = build.ask(RULE, build.case(build.hole(5.0), walls=(build.wall(web, (0, 20), "web"),)))
    assert (*build.told(found), found.feature) == (level, web, pytest.approx(limit), "F1")
    assert f"Move it {limit - web:g} mm inward" in found.suggestion


@pytest.mark.parametrize(
    "place",
    [
        pytest.param(build.wall(2.5, (0, 20), "web"), id="exactly-at-the-limit"),
        pytest.param(build.wall(9.0, (0, 20), "web"), id="far"),
        pytest.param(build.wall(0.5, (0, 20), "wall"), id="a-wall-is-another-rule"),
        pytest.param(build.wall(0.5, (0, 2), "web"), id="no-hole-beside-it"),
        pytest.param(build.wall(0.5, (20, 21), "web"), id="between-two-holes-is-another-rule"),
    ],
)
def test_stays_silent(place: ThinPlace) -> None:
    """Far enough, or not between a hole and the outside."""
    assert build.ask(RULE, build.case(build.hole(5.0), build.hole(5.0, faces=(21,)), walls=(place,))) == []


def test_thinnest_side_counts_once() -> None:
    """A hole in a corner of the plate is near two edges; one line."""
    walls = (build.wall(0.9, (1, 20), "web"), build.wall(0.5, (0, 20), "web"))
    (found,) = build.ask(RULE, build.case(build.hole(5.0), walls=walls))
    assert found.measured == 0.5
