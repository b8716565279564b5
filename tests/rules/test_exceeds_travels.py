from dataclasses import replace

import pytest

from analyzers.model.arrays import Vec
from analyzers.model.report import MadeBy
from tests.rules import _builders as build

RULE = "exceeds_travels"
TURNED = MadeBy(process="turned", why="round about one axis")


@pytest.mark.parametrize(
    ("stock", "made_by", "length", "travel"),
    [
        pytest.param((520.0, 100.0, 50.0), None, 520.0, 500.0, id="too-long"),
        pytest.param((310.0, 320.0, 330.0), None, 310.0, 300.0, id="too-high-whichever-way"),
        pytest.param((80.0, 80.0, 700.0), TURNED, 700.0, 550.0, id="shaft-too-long-for-the-lathe"),
    ],
)
def test_fires(stock: Vec, made_by: MadeBy | None, length: float, travel: float) -> None:
    """The block does not fit however it is laid."""
    one = build.case(plan_=build.plan(stock=stock))
    (found,) = build.ask(RULE, replace(one, facts=replace(one.facts, made_by=made_by)) if made_by else one)
    assert (found.level, found.measured, found.limit) == ("error", length, travel)
    assert f"{length - travel:g} mm less" in found.suggestion


@pytest.mark.parametrize(
    "stock",
    [
        pytest.param((64.0, 44.0, 24.0), id="small"),
        pytest.param((300.0, 500.0, 400.0), id="exactly-the-travels-laid-another-way"),
    ],
)
def test_stays_silent(stock: Vec) -> None:
    """It fits one way or another."""
    assert build.ask(RULE, build.case(plan_=build.plan(stock=stock))) == []


def test_stays_silent_without_a_machine_of_the_kind() -> None:
    """A shop without a lathe: that is the plan's to say, not a question of travels."""
    one = build.case(
        plan_=build.plan(stock=(80.0, 80.0, 700.0)), shop_=build.shop(machines=(build.MILL,)), made_by=TURNED
    )
    assert build.ask(RULE, one) == []
