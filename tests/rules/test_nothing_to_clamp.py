import pytest

from analyzers.model.plan import Plan, Setup
from tests.rules import _builders as build

RULE = "nothing_to_clamp"


def loose(name: str) -> Setup:
    """Return a setup in which nothing holds."""
    return build.setup(name, vise_faces=(), grip_width_mm=None)


def test_fires() -> None:
    """In the second of two setups there is no hold."""
    (found,) = build.ask(RULE, build.case(plan_=build.plan((build.setup("S1"), loose("S2")))))
    assert build.told(found) == ("warning", 1, 0.0)
    assert "turned over (S2)" in found.message
    assert "5 mm high" in found.suggestion
    assert "150 mm apart" in found.suggestion


@pytest.mark.parametrize(
    "plan",
    [
        pytest.param(build.plan((build.setup("S1"), build.setup("S2"))), id="exactly-none-loose"),
        pytest.param(build.plan((loose("S1"), build.setup("S2"))), id="the-raw-block-is-held-first"),
        pytest.param(build.plan((build.setup("S1"), build.setup("S2", vise_faces=(), grip_width_mm=30.0))), id="chuck"),
        pytest.param(build.plan(()), id="no-setups-planned"),
    ],
)
def test_stays_silent(plan: Plan) -> None:
    """Every later clamping has a vise or a chuck to hold in."""
    assert build.ask(RULE, build.case(plan_=plan)) == []
