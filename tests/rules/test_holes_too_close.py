import pytest

from analyzers.model.measure import ThinPlace
from tests.rules import _builders as build

RULE = "holes_too_close"
HOLES = (build.hole(5.0, faces=(20,)), build.hole(8.0, faces=(21,)), build.hole(5.0, faces=(22,)))


@pytest.mark.parametrize(("web", "level", "limit"), [(0.8, "warning", 1.0), (2.0, "note", 2.5)])
def test_fires(web: float, level: str, limit: float) -> None:
    """Below the material's wall, or below half the smaller hole."""
    (found,) = build.ask(RULE, build.case(*HOLES, walls=(build.wall(web, (20, 21), "web"),)))
    assert build.told(found) == (level, web, pytest.approx(limit))
    assert found.features == ("F1", "F2")
    assert "between ⌀5 and ⌀8," in found.message


@pytest.mark.parametrize(
    "place",
    [
        pytest.param(build.wall(2.5, (20, 21), "web"), id="exactly-at-the-limit"),
        pytest.param(build.wall(6.0, (20, 21), "web"), id="far"),
        pytest.param(build.wall(0.5, (0, 21), "web"), id="to-the-outside-is-another-rule"),
        pytest.param(build.wall(0.5, (20, 20), "web"), id="within-one-hole"),
    ],
)
def test_stays_silent(place: ThinPlace) -> None:
    """Far enough, or not between two holes."""
    assert build.ask(RULE, build.case(*HOLES, walls=(place,))) == []


def test_equal_webs_share_one_finding() -> None:
    """Two equal webs in a row of three holes."""
    row = tuple(build.hole(5.0, faces=(face,)) for face in (20, 21, 22))
    walls = (build.wall(0.8, (20, 21), "web"), build.wall(0.8, (21, 22), "web"))
    (found,) = build.ask(RULE, build.case(*row, walls=walls))
    assert found.message.startswith("2 thin webs between holes: 0.8 mm between two ⌀5")
    assert found.features == ("F1", "F2", "F3")
