import pytest

from analyzers.model.plan import CutterUse, Plan
from tests.rules import _builders as build

RULE = "too_many_cutters"


def plan_with(count: int) -> Plan:
    """Return a plan with so many cutters; the first two do both features, the others F2 alone."""
    uses = [
        CutterUse(cutter=f"C{i}", features=("F1", "F2") if i < 2 else ("F2",), setup=setup, minutes=1.0)
        for i in range(count)
        for setup in ("S1", "S2")
    ]
    return build.plan(tools=tuple(uses))


def test_fires() -> None:
    """Thirteen cutters, each in two setups, are thirteen."""
    (found,) = build.ask(RULE, build.case(build.hole(), build.hole(), plan_=plan_with(13)))
    assert build.told(found) == ("note", 13, 12.0)
    assert "11 of them for a single feature" in found.message
    assert found.features == ("F2",)


@pytest.mark.parametrize("count", [0, 5, pytest.param(12, id="exactly-twelve")])
def test_stays_silent(count: int) -> None:
    """Up to a dozen."""
    assert build.ask(RULE, build.case(build.hole(), build.hole(), plan_=plan_with(count))) == []
