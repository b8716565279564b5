"""The minutes of a whole plan grow with depth, volume, hardness and quantity, whatever cutters it takes for them."""

from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import settings as hypothesis_settings
from hypothesis import strategies as st

from analyzers.features.hole import Hole
from analyzers.features.pocket import Pocket
from analyzers.features.slot import Slot
from analyzers.model.plan import Plan
from analyzers.model.report import Facts
from analyzers.pipeline import analyse
from analyzers.plan import Layout, layout_for, make_plan, relaid
from analyzers.settings import Settings, load_settings

PARTS = Path(__file__).parents[2] / "fixtures" / "parts"
STEMS = ("oil_manifold", "filter_tray", "press_bed", "mould_half", "turned_bush")
SLACK = 1.0 + 1e-9


@cache
def start(stem: str) -> tuple[Facts, Settings, Layout]:
    """Return the facts of an example part with the settings and the layout to plan it."""
    settings = load_settings()
    (body,) = analyse(PARTS / f"{stem}.step", settings).bodies
    return body.facts, settings, layout_for(body.facts, settings)


def planned(facts: Facts, settings: Settings, layout: Layout) -> Plan:
    """Return the plan for the same faces with features of other sizes or in another material."""
    return make_plan(facts, settings, relaid(facts, settings, layout), whole=False)


def deeper(facts: Facts, by: float) -> Facts:
    """Return the facts with all blind holes, pockets and slots that many times as deep, the part lighter by as much."""
    cavities = (Hole, Pocket, Slot)
    features = tuple(
        replace(each, depth_mm=each.depth_mm * by)
        if isinstance(each, cavities) and each.depth_mm is not None and not each.through
        else each
        for each in facts.features
    )
    return replace(facts, features=features)


@hypothesis_settings(max_examples=15)
@given(st.sampled_from(STEMS), st.floats(1.0, 1.5), st.floats(1.0, 1.5))
def test_deeper_features_take_no_fewer_minutes(stem: str, first: float, more: float) -> None:
    """As long as nothing more stays unmade for being too deep."""
    facts, settings, layout = start(stem)
    shallow, deep = (planned(deeper(facts, by), settings, layout) for by in (first, first * more))
    if len(deep.unmade) <= len(shallow.unmade) and len(deep.setups) >= len(shallow.setups):
        outside = "outside"  # the blank's own clearing shrinks by what the features take over
        times = [sum(each.minutes for each in plan.time_shares if each.name != outside) for plan in (shallow, deep)]
        assert times[0] <= times[1] * SLACK


@hypothesis_settings(max_examples=15)
@given(st.sampled_from(STEMS), st.floats(1.0, 6.0), st.floats(1.0, 4.0))
def test_a_harder_material_takes_no_fewer_minutes(stem: str, slower: float, harder: float) -> None:
    """Lower speeds and more force, on every cutter of the plan."""
    facts, settings, layout = start(stem)
    soft = settings.material
    hard = replace(
        soft,
        cutting_speed_m_min=soft.cutting_speed_m_min / slower,
        cutting_speed_hss_m_min=(soft.cutting_speed_hss_m_min or 90.0) / slower,
        kc1_n_mm2=(soft.kc1_n_mm2 or 0.0) * harder,
    )
    easy = planned(facts, settings, layout)
    tough = planned(facts, replace(settings, material=hard), layout)
    assert easy.minutes.likely <= tough.minutes.likely * SLACK
    assert easy.minutes.low <= tough.minutes.low * SLACK
    assert easy.minutes.high <= tough.minutes.high * SLACK


@pytest.mark.parametrize("stem", STEMS)
def test_real_materials_rank_by_their_cutting_data(stem: str) -> None:
    """Aluminium, low-carbon steel, annealed alloy steel, stainless, titanium: each no faster than the one before."""
    facts, settings, layout = start(stem)
    by_id = {each.id: each for each in settings.shop.materials}
    order = ("6061-T6", "1018", "4140", "304", "Ti-6Al-4V")
    spent = [planned(facts, replace(settings, material=by_id[name]), layout).minutes.likely for name in order]
    assert spent == sorted(spent)


@hypothesis_settings(max_examples=15)
@given(st.sampled_from(STEMS), st.integers(1, 500), st.integers(1, 500))
def test_a_batch_takes_more_and_each_part_of_it_less(stem: str, few: int, more: int) -> None:
    """Setting up is paid once: its share falls with the quantity, the machine time of a part does not change."""
    facts, settings, layout = start(stem)
    small, large = (planned(facts, replace(settings, quantity=count), layout) for count in (few, few + more))
    batch = [each.setup_minutes + count * each.minutes.likely for each, count in ((small, few), (large, few + more))]
    assert batch[0] < batch[1]
    assert batch[1] / (few + more) <= batch[0] / few * SLACK


@pytest.mark.parametrize("stem", STEMS)
def test_the_range_holds_the_likely_time_and_says_what_it_rests_on(stem: str) -> None:
    """Low, likely, high in order; the assumptions name blank, material with its source, and how wide the range is."""
    facts, settings, layout = start(stem)
    plan = planned(facts, settings, layout)
    assert 0.0 < plan.minutes.low < plan.minutes.likely < plan.minutes.high
    said = " ".join(plan.assumptions)
    assert all(word in said for word in ("Estimate", "Blank:", settings.material.source, "low and high"))
    assert sum(each.minutes for each in plan.time_shares) == pytest.approx(plan.minutes.likely)
