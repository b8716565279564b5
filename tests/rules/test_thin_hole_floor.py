import pytest

from analyzers.model.feature import Feature
from analyzers.model.measure import ThinPlace
from tests.rules import _builders as build

RULE = "thin_hole_floor"


def test_fires() -> None:
    """0.4 mm below two equal blind holes."""
    walls = (build.wall(0.4, (20, 5), "floor"), build.wall(0.4, (21, 5), "floor"))
    (found,) = build.ask(RULE, build.case(build.hole(), build.hole(faces=(21,)), walls=walls))
    assert build.told(found) == ("warning", 0.4, 1.0)
    assert (found.features, found.faces) == (("F1", "F2"), (5, 20, 21))
    assert "0.6 mm less depth" in found.suggestion


@pytest.mark.parametrize(
    ("feature", "place"),
    [
        pytest.param(build.hole(), build.wall(1.0, (20, 5), "floor"), id="exactly-at-the-limit"),
        pytest.param(build.hole(), build.wall(0.4, (20, 5), "web"), id="beside-it-is-another-rule"),
        pytest.param(build.pocket(), build.wall(0.4, (10, 5), "floor"), id="pocket-is-another-rule"),
        pytest.param(build.hole(through=True, bottom="through"), build.wall(0.4, (20, 5), "floor"), id="through"),
    ],
)
def test_stays_silent(feature: Feature, place: ThinPlace) -> None:
    """Enough left, or not below a blind hole."""
    assert build.ask(RULE, build.case(feature, walls=(place,))) == []
