import pytest

from analyzers.model.plan import Plan
from analyzers.model.report import MadeBy
from tests.rules import _builders as build

RULE = "nothing_to_clamp"
LOOSE = build.plan((build.setup("S1"), build.setup("S2", vise_faces=(), grip_width_mm=None)))


def test_fires() -> None:
    """In the second of two setups there is no hold."""
    (found,) = build.ask(RULE, build.case(plan_=LOOSE))
    assert (found.level, found.measured) == ("warning", 1)
    assert "In 1 of 2 setups (S2)" in found.message
    assert "5 mm high" in found.suggestion


@pytest.mark.parametrize(
    ("plan", "process"),
    [
        pytest.param(build.plan((build.setup(),)), "milled", id="exactly-none-loose"),
        pytest.param(LOOSE, "turned", id="a-chuck-holds-round-parts"),
        pytest.param(build.plan(()), "milled", id="no-setups-planned"),
    ],
)
def test_stays_silent(plan: Plan, process: str) -> None:
    """Every clamping holds, or it is a lathe's."""
    made_by = MadeBy(process=process, why="given")  # type: ignore[arg-type] # one of the words, from the list above
    assert build.ask(RULE, build.case(plan_=plan, made_by=made_by)) == []
