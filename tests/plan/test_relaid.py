from pathlib import Path

import pytest

from analyzers.pipeline import analyse
from analyzers.plan import layout_for, make_plan, relaid
from analyzers.settings import load_settings

PARTS = ("sharp_window", "oil_manifold", "turned_bush", "wedge_block", "slide_base")


@pytest.mark.parametrize("stem", PARTS)
def test_the_same_sizes_laid_out_again_give_the_same_plan(parts: Path, stem: str) -> None:
    """Keeping what the directions see changes nothing: with sizes as modelled the plan is the one made afresh."""
    settings = load_settings()
    (body,) = analyse(parts / f"{stem}.step", settings).bodies
    layout = layout_for(body.facts, settings)
    again = make_plan(body.facts, settings, relaid(body.facts, settings, layout))
    assert again == make_plan(body.facts, settings) == body.plan


@pytest.mark.parametrize("stem", PARTS)
def test_a_plan_without_what_follows_from_it_has_the_same_setups_cutters_and_minutes(parts: Path, stem: str) -> None:
    """Leaving it out saves time where only these are asked for."""
    settings = load_settings()
    (body,) = analyse(parts / f"{stem}.step", settings).bodies
    plan = make_plan(body.facts, settings, whole=False)
    assert (plan.minutes, plan.setup_minutes, plan.unmade) == (
        body.plan.minutes,
        body.plan.setup_minutes,
        body.plan.unmade,
    )
    assert [each.features for each in plan.setups] == [each.features for each in body.plan.setups]
    assert [each.cutter for each in plan.tools] == [each.cutter for each in body.plan.tools]
