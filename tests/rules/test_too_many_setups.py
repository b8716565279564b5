import pytest

from analyzers.model.plan import Plan
from tests.rules import _builders as build

RULE = "too_many_setups"


def sides(count: int) -> Plan:
    """Return a plan with that many setups; the first has all features but the last, the last has F2."""
    return build.plan(tuple(build.setup(f"S{i}", ("F2",) if i == count else ("F1", "F3")) for i in range(1, count + 1)))


def test_a_side_without_features_of_its_own_is_not_said_to_have_some() -> None:
    """It cuts the far end of a hole, or what is left of the outside."""
    plan = build.plan(tuple(build.setup(f"S{i}", () if i == 4 else ("F1", "F2")) for i in range(1, 5)))
    (found,) = build.ask(RULE, build.case(build.hole(), build.hole(), plan_=plan))
    assert found.suggestion.startswith("Setup S4 cuts nothing but what the others leave over")


@pytest.mark.parametrize(("count", "level", "limit"), [(4, "note", 3), (5, "warning", 4)])
def test_fires(count: int, level: str, limit: int) -> None:
    """Over three sides, and over the shop's own four."""
    (found,) = build.ask(RULE, build.case(build.hole(), build.hole(), build.hole(), plan_=sides(count)))
    assert (found.level, found.measured, found.limit) == (level, count, limit)
    assert found.suggestion.startswith(f"Setup S{count} only exists for 1 feature")
    assert found.features == ("F2",)
    assert found.change is not None
    assert (found.change.field, found.change.was, found.change.value) == ("setup", f"S{count}", "S1")
    assert found.effect == ""  # what it does is for a trial to say


@pytest.mark.parametrize("count", [pytest.param(2, id="two"), pytest.param(3, id="exactly-at-the-limit")])
def test_stays_silent(count: int) -> None:
    """Up to three sides."""
    assert build.ask(RULE, build.case(build.hole(), build.hole(), build.hole(), plan_=sides(count))) == []
