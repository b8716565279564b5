from dataclasses import replace

from analyzers.rules._base import Case, judge
from tests.rules import _builders as build

RULE = "unreached_faces"


def hidden(*faces: int) -> Case:
    """Return a case of a pocket on faces 6 to 10 whose plan does not reach some faces."""
    return build.case(build.pocket(), plan_=replace(build.plan(), unreached_faces=faces))


def test_fires() -> None:
    """A side of 40 x 20 mm and a wall of the pocket of 100 mm²."""
    (found,) = build.ask(RULE, hidden(2, 8))
    assert build.told(found) == ("warning", 2, 0.0)
    assert (found.features, found.faces) == (("F1",), (2, 8))
    assert "9 cm²" in found.message
    assert found.change_none_because


def test_stays_silent() -> None:
    """Exactly none is hidden."""
    assert build.ask(RULE, hidden()) == []


def test_gives_way_to_an_error_about_the_same_feature() -> None:
    """A pocket that cannot be made for its sharp corners is not blamed for hidden walls as well."""
    one = build.case(build.pocket(12.0, 0.0), plan_=replace(build.plan(), unreached_faces=(8,)))
    assert RULE not in {each.rule for each in judge(one)[0]}
