import pytest

from analyzers.model.measure import ThinPlace
from analyzers.model.plan import CutterUse
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
    assert f"Move it inward {limit - web:g} mm" in found.suggestion


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


def test_all_that_are_merely_near_share_one_line() -> None:
    """Three holes of two sizes: the one nearest for its size is named."""
    walls = (build.wall(2.0, (0, 20), "web"), build.wall(2.2, (1, 21), "web"), build.wall(3.0, (2, 22), "web"))
    holes = (build.hole(5.0), build.hole(5.0, faces=(21,)), build.hole(9.0, faces=(22,)))
    (found,) = build.ask(RULE, build.case(*holes, walls=walls))
    assert found.features == ("F3", "F1", "F2")
    assert build.told(found) == ("note", 3.0, 4.5)
    assert "by up to 1.5 mm" in found.suggestion


@pytest.mark.parametrize(("kinds", "levels"), [(("drill",), ["note"]), (("drill", "flat"), ["note"]), (("flat",), [])])
def test_half_a_diameter_is_asked_of_what_is_drilled(kinds: tuple[str, ...], levels: list[str]) -> None:
    """A bore of 58 mm in a ring of 70 is milled: its 6 mm are a wall, and no drill pushes it aside."""
    shop = build.shop()
    named = {kind: next(each.id for each in shop.cutters if each.kind == kind) for kind in kinds}
    uses = tuple(CutterUse(cutter=each, features=("F1",), setup="S1", minutes=1.0) for each in named.values())
    one = build.case(build.hole(58.0), walls=(build.wall(6.0, (0, 20), "web"),), plan_=build.plan(tools=uses))
    assert build.levels(build.ask(RULE, one)) == levels


def test_a_milled_bore_keeps_the_least_wall_of_its_material() -> None:
    """0.5 mm beside it are too thin however it is made."""
    uses = (CutterUse(cutter=build.shop().cutters[0].id, features=("F1",), setup="S1", minutes=1.0),)
    one = build.case(build.hole(58.0), walls=(build.wall(0.5, (0, 20), "web"),), plan_=build.plan(tools=uses))
    assert build.levels(build.ask(RULE, one)) == ["warning"]
