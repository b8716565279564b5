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
