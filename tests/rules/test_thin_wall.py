import pytest

from analyzers.model.measure import ThinPlace
from tests.rules import _builders as build

RULE = "thin_wall"


def test_fires() -> None:
    """0.6 mm where the shop wants 1 mm in this material."""
    (found,) = build.ask(RULE, build.case(walls=(build.wall(0.6, (0, 2)),)))
    assert (found.level, found.measured, found.limit, found.unit) == ("warning", 0.6, 1.0, "mm")
    assert found.faces == (0, 2)
    assert "0.4 mm more, to 1 mm" in found.suggestion


@pytest.mark.parametrize(
    "walls",
    [
        pytest.param((), id="none-measured"),
        pytest.param((build.wall(1.0),), id="exactly-at-the-limit"),
        pytest.param((build.wall(3.0),), id="thick"),
        pytest.param(
            (build.wall(0.5, kind="floor"), build.wall(0.5, kind="web")), id="floors-and-webs-are-other-rules"
        ),
    ],
)
def test_stays_silent(walls: tuple[ThinPlace, ...]) -> None:
    """At the limit, above it, or nothing that is a wall."""
    assert build.ask(RULE, build.case(walls=walls)) == []


def test_equal_walls_share_one_finding() -> None:
    """Four fins of 0.6 mm and one of 0.8 are two lines."""
    walls = [build.wall(0.6, (0, 2)), build.wall(0.601, (1, 3)), build.wall(0.6, (4, 5)), build.wall(0.8, (6, 8))]
    found = build.ask(RULE, build.case(walls=walls))
    assert [each.faces for each in found] == [(0, 1, 2, 3, 4, 5), (6, 8)]
    assert found[0].message.startswith("3 walls 0.6 mm thick")


def test_names_the_features_beside_the_wall() -> None:
    """The wall between a pocket and the outside belongs to the pocket."""
    (found,) = build.ask(RULE, build.case(build.pocket(), walls=(build.wall(0.6, (0, 6)),)))
    assert found.feature == "F1"
    assert found.faces == (0, 6)
