"""The whole plan: what adds up, what never shrinks, which machine is taken."""

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analyzers.model.measure import Measure
from analyzers.model.plan import Plan
from analyzers.model.report import Facts
from analyzers.plan import make_plan
from tests.plan._builders import block, example, facts, hole, machine, pocket, pocketed, turned, with_shop

DOWN = (0.0, 0.0, -1.0)
LEFT = (-1.0, 0.0, 0.0)


def plain() -> Facts:
    """Return a block with a pocket, three holes from above and one from the left."""
    return facts(pocketed(), [pocket(), hole(), hole(8.0), hole(5.0, through=True, depth=20.0), hole(direction=LEFT)])


# --- what adds up ---------------------------------------------------------------------------------------------------


def test_the_shares_add_up_to_the_likely_minutes() -> None:
    """Nothing is counted twice and nothing left out."""
    plan = make_plan(plain(), example())
    assert sum(each.minutes for each in plan.time_shares) == pytest.approx(plan.minutes.likely)
    assert [each.minutes for each in plan.time_shares] == sorted((s.minutes for s in plan.time_shares), reverse=True)


def test_low_likely_and_high_stand_in_order() -> None:
    """An estimate is a range."""
    minutes = make_plan(plain(), example()).minutes
    assert 0.0 < minutes.low < minutes.likely < minutes.high


def test_the_minutes_of_the_cutters_are_those_of_the_cutting() -> None:
    """Cutting is what is left of the minutes without changing, loading and deburring."""
    plan = make_plan(plain(), example())
    handling = sum(
        s.minutes for s in plan.time_shares if s.name in ("tool changes", "loading and unloading", "deburring")
    )
    assert sum(each.minutes for each in plan.tools) == pytest.approx(plan.minutes.likely - handling)


def test_the_chips_are_blank_less_part() -> None:
    """60 x 40 x 20 with a pocket of 30 x 20 x 8, cut from 64 x 44 x 25."""
    plan = make_plan(plain(), example())
    assert plan.stock_mm == pytest.approx((64.0, 44.0, 25.0))
    assert plan.removed_mm3 == pytest.approx(64.0 * 44.0 * 25.0 - (60.0 * 40.0 * 20.0 - 30.0 * 20.0 * 8.0))


def test_setting_up_is_counted_once_for_each_clamping() -> None:
    """Top and left, and turned over once to face the bottom: three times the shop's minutes, however many parts."""
    plan = make_plan(plain(), example())
    assert plan.setup_minutes == pytest.approx(3.0 * example().shop.setup_minutes)
    assert make_plan(plain(), replace(example(), quantity=100)).setup_minutes == plan.setup_minutes
    assert make_plan(plain(), replace(example(), quantity=100)).minutes == plan.minutes


def test_the_sharp_edges_are_deburred_by_the_metre() -> None:
    """Two metres as measured, at the shop's four minutes a metre."""
    measured = Measure(name="external_sharp_edge_length_mm", value=2000.0)
    plan = make_plan(replace(plain(), measures=(measured,)), example())
    deburring = next(each.minutes for each in plan.time_shares if each.name == "deburring")
    assert deburring == pytest.approx(2.0 * example().shop.deburr_minutes_per_m)


def test_a_size_that_is_not_known_is_said_and_not_timed() -> None:
    """Neither unmade nor forgotten."""
    plan = make_plan(facts(pocketed(), [pocket(depth_mm=None), hole()]), example())
    assert not plan.unmade
    assert any("F1 (depth or width)" in each for each in plan.assumptions)


def test_what_is_taken_for_granted_is_said() -> None:
    """Blank, cutting data, range, that it is an estimate; turning over where only the last face asks for it."""
    said = " ".join(make_plan(plain(), example()).assumptions)
    for words in ("sorting and quoting", "plate 25 mm thick", "cutting data", "0.6 and 1.7", "turning it over"):
        assert words.lower() in said.lower()
    both = facts(block(), [hole(), hole(direction=DOWN)])
    assert "turning it over" not in " ".join(make_plan(both, example()).assumptions)


# --- machines -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("length", "name"), [(756.0, "mill-3"), (756.1, None)])
def test_the_blank_must_fit_the_travels(length: float, name: str | None) -> None:
    """760 mm of travel less 2 mm on each side; where nothing fits, the plan goes on without a machine."""
    plan = make_plan(facts(block((length, 60.0, 20.0)), [hole()]), example())
    assert plan.machine == name
    assert plan.setups
    assert any("No machine" in each for each in plan.assumptions) is (name is None)


def test_the_cheaper_machine_wins_where_both_make_it() -> None:
    """Equal but for the rate; and a dear one that saves three clampings wins again."""
    dear, cheap = machine(id="dear", rate_per_hour=150.0), machine(id="cheap", rate_per_hour=50.0)
    assert make_plan(plain(), with_shop(machines=(dear, cheap))).machine == "cheap"
    sides = facts(block(), [hole(direction=each) for each in ((0.0, 0.0, 1.0), DOWN, LEFT, (0.0, 1.0, 0.0))])
    five = machine(id="five", axes=5, indexed=True, rate_per_hour=60.0)
    assert make_plan(sides, with_shop(machines=(cheap, five))).machine == "five"


def test_a_shop_without_a_lathe_mills_a_shaft() -> None:
    """Or says which diameter it cannot."""
    mills = tuple(each for each in example().shop.machines if each.kind == "mill")
    shaft = facts(turned([(0.0, 10.0), (40.0, 10.0)]), process="turned", axis=(1.0, 0.0, 0.0))
    assert make_plan(shaft, with_shop(machines=mills)).machine == "mill-3"


# --- what never shrinks ---------------------------------------------------------------------------------------------

few = settings(max_examples=25, deadline=None)
growth = st.floats(1.0, 2.5)


def grows(before: Plan, after: Plan) -> None:
    """Assert that no minute is saved, unless something became impossible to make and is not timed any more."""
    if len(before.unmade) == len(after.unmade):
        assert before.minutes.likely <= after.minutes.likely * (1.0 + 1e-9)


@few
@given(st.floats(2.0, 18.0), growth)
def test_a_deeper_pocket_never_makes_the_part_quicker(depth: float, by: float) -> None:
    """The same outline, more to clear."""
    deep = min(depth * by, 19.0)
    before, after = (
        make_plan(facts(pocketed(pocket=(30.0, 20.0, d)), [pocket(depth=d)]), example())
        for d in (depth, max(deep, depth))
    )
    grows(before, after)


@few
@given(st.floats(20.0, 150.0), st.floats(20.0, 100.0), st.floats(5.0, 60.0), growth)
def test_a_larger_block_never_takes_less(length: float, width: float, height: float, by: float) -> None:
    """More to face and to load the same."""
    before, after = (
        make_plan(facts(block(size), [hole()]), with_shop(stock=()))
        for size in ((length, width, height), (length * by, width, height))
    )
    grows(before, after)


@few
@given(st.floats(1.0, 4.0), st.floats(1.0, 4.0))
def test_a_harder_material_never_makes_the_part_quicker(slower: float, harder: float) -> None:
    """Slower cutting, more force."""
    soft = example()
    hard = replace(
        soft.material,
        cutting_speed_m_min=soft.material.cutting_speed_m_min / slower,
        cutting_speed_hss_m_min=(soft.material.cutting_speed_hss_m_min or 30.0) / slower,
        kc1_n_mm2=(soft.material.kc1_n_mm2 or 700.0) * harder,
    )
    grows(make_plan(plain(), soft), make_plan(plain(), replace(soft, material=hard)))


@few
@given(st.integers(1, 6), st.lists(st.sampled_from([DOWN, LEFT, (0.0, 1.0, 0.0), (0.0, -1.0, 0.0)]), min_size=1))
def test_more_holes_and_more_sides_never_take_less(count: int, sides: list[Any]) -> None:
    """Each feature adds its minutes, each side its loading and its setting up."""
    holes = [hole() for _ in range(count)]
    before = make_plan(facts(block(), holes), example())
    after = make_plan(facts(block(), [*holes, *(hole(direction=each) for each in sides)]), example())
    grows(before, after)
    assert before.setup_minutes <= after.setup_minutes
    assert len(before.setups) <= len(after.setups)


@few
@given(st.integers(1, 50), st.integers(1, 20))
def test_a_larger_order_never_takes_less_in_all_nor_more_a_part(quantity: int, by: int) -> None:
    """Setting up is shared; the rest is each part's own."""
    few_parts, many = (make_plan(plain(), replace(example(), quantity=q)) for q in (quantity, quantity * by))

    def total(plan: Plan, count: int) -> float:
        return plan.setup_minutes + count * plan.minutes.likely

    assert total(few_parts, quantity) <= total(many, quantity * by)
    assert total(many, quantity * by) / (quantity * by) <= total(few_parts, quantity) / quantity + 1e-9


def test_nothing_of_the_facts_is_changed() -> None:
    """Planning reads and writes nothing: the arrays are still locked and the same."""
    given_facts = plain()
    points = given_facts.part.mesh.point_mm.copy()
    make_plan(given_facts, example())
    assert np.array_equal(given_facts.part.mesh.point_mm, points)


def test_a_block_goes_to_a_mill_and_only_without_one_to_a_mill_turn_machine() -> None:
    """However cheap the mill-turn machine is."""
    mill_turn = machine(id="mt", kind="mill_turn", axes=5, rate_per_hour=1.0)
    small = machine(id="small", travel_mm=(50.0, 50.0, 50.0))
    assert make_plan(plain(), with_shop(machines=(machine(), mill_turn))).machine == "mill-3"
    assert make_plan(plain(), with_shop(machines=(small, mill_turn))).machine == "mt"
    assert make_plan(plain(), with_shop(machines=(mill_turn,))).machine == "mt"
