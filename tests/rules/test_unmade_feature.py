import pytest

from analyzers.model.plan import Plan, Unmade
from tests.rules import _builders as build

RULE = "unmade_feature"


def test_fires() -> None:
    """Two equal holes stay unmade for one reason: one line that gives it."""
    unmade = tuple(Unmade(feature=each, why="no drill of the shelf reaches 200 mm.") for each in ("F1", "F2"))
    (found,) = build.ask(
        RULE, build.case(build.hole(5.0, 200.0), build.hole(5.0, 200.0), plan_=build.plan(unmade=unmade))
    )
    assert (found.level, found.features) == ("error", ("F1", "F2"))
    assert found.message == "2 holes ⌀5 ↧200 stay unmade: no drill of the shelf reaches 200 mm."
    assert "+Z" in found.suggestion


@pytest.mark.parametrize("plan", [pytest.param(build.plan(), id="exactly-none-unmade")])
def test_stays_silent(plan: Plan) -> None:
    """All made."""
    assert build.ask(RULE, build.case(build.hole(), plan_=plan)) == []
