"""Tapping: which tap, for how long, and what is said where only a size suggests a thread."""

from dataclasses import replace

import numpy as np
import pytest

from analyzers.data.thread_names import find_thread
from analyzers.features.hole import Hole
from analyzers.model.feature import Thread
from analyzers.model.report import Facts
from analyzers.model.tolerance_note import ToleranceNote
from analyzers.plan import make_plan
from analyzers.plan.bench import Bench, Operation
from analyzers.plan.rates import POSITION_MIN, TAP_LEAD_TURNS
from analyzers.plan.threading import tap_for, tapping, threads_not_timed
from tests.plan._builders import block, example, facts, hole

M8 = Thread(
    designation="M8×1.25",
    major_mm=8.0,
    minor_mm=6.65,
    pitch_mm=1.25,
    length_mm=12.0,
    hand="right",
    starts=1,
    flank_angle_deg=60.0,
)


def named(thread: str, diameter: float = 6.8, depth: float = 20.0) -> Facts:
    """Return a block with one blind hole whose thread a note names."""
    found = facts(block(), [hole(diameter, depth, faces=(0,))])
    return replace(found, tolerances=(ToleranceNote(kind="thread", thread=thread, faces=(0,)),))


def tapped(found: Facts) -> tuple[Operation, ...]:
    """Return the tapping of the first hole on the first machine of the example shop."""
    (bore,) = found.features
    assert isinstance(bore, Hole)
    settings = example()
    return tapping(found, bore, Bench.of(found.part, settings, settings.shop.machines[0], np.eye(3)))


@pytest.mark.parametrize(
    ("thread", "tap"),
    [("M8", "tap M8"), ("M8×1.25-6H", "tap M8"), ("M8×1", "tap M8×1"), ("1/4-20 UNC", "tap 1/4-20 UNC")],
)
def test_the_tap_of_the_thread_is_taken_and_a_missing_one_is_named(thread: str, tap: str) -> None:
    """The example shop has coarse metric taps; a fine or an inch thread's tap is bought."""
    (operation,) = tapped(named(thread))
    assert (operation.work, operation.cutter, operation.feature) == ("tap", tap, "F1")


def test_minutes_are_the_turns_in_and_out() -> None:
    """One pitch a turn, in and out: t = 2 L / (n P), with four pitches before the thread begins (hand calculation)."""
    settings = example()
    speed = settings.material.cutting_speed_hss_m_min or settings.material.cutting_speed_m_min / 3.0
    rpm = min(speed / 3.0 * 1000.0 / (np.pi * 8.0), settings.shop.machines[0].max_rpm)
    (operation,) = tapped(named("M8"))
    assert operation.minutes == pytest.approx(2.0 * (20.0 + TAP_LEAD_TURNS * 1.25) / (rpm * 1.25) + POSITION_MIN)


def test_a_modelled_thread_is_tapped_over_its_own_length() -> None:
    """12 mm of thread in a hole of 20 mm take less than 20 mm of thread."""
    modelled = facts(block(), [hole(6.65, 20.0, faces=(0,), modelled_thread=M8)])
    assert tapped(modelled)[0].minutes < tapped(named("M8"))[0].minutes


@pytest.mark.parametrize("thread", ["G1/4", "Tr 8"])
def test_a_thread_of_unknown_size_is_not_tapped(thread: str) -> None:
    """No outside diameter, no tap."""
    assert tapped(named(thread)) == ()


def test_a_plain_hole_is_not_tapped() -> None:
    """Nothing names a thread; what its size suggests is said instead."""
    assert tapped(facts(block(), [hole(6.8, 20.0, faces=(0,))])) == ()


def test_the_plan_lists_the_tap_and_its_minutes() -> None:
    """A cutter more to change, a share of the time."""
    plan, plain = (make_plan(each, example()) for each in (named("M8"), facts(block(), [hole(6.8, 20.0, faces=(0,))])))
    assert {each.cutter for each in plan.tools} - {each.cutter for each in plain.tools} == {"tap M8"}
    assert [each.name for each in plan.time_shares if each.name == "tapping"] == ["tapping"]
    assert plan.minutes.likely > plain.minutes.likely


def test_a_size_that_suggests_a_thread_is_a_remark() -> None:
    """ISO 2306: 5 mm is the tap drill of M6, 6.8 that of M8; 6.6 is the clearance of M6 and no thread's (ISO 273)."""
    bores = [hole(5.0, 15.0), hole(5.0, 12.0), hole(6.8, 16.0), hole(6.6, 10.0, through=True)]
    (remark,) = threads_not_timed(facts(block(), bores))
    assert "(2 × M6, 1 × M8)" in remark
    assert threads_not_timed(facts(block(), bores[3:])) == ()
    assert threads_not_timed(named("M8")) == ()


def test_the_tap_that_reaches_deepest_is_taken() -> None:
    """Of two taps of one thread."""
    shop = example().shop
    short = next(each for each in shop.cutters if each.id == "tap M8")
    long = replace(short, id="tap M8 long", reach_mm=90.0)
    thread = find_thread("M8")
    assert thread is not None
    assert tap_for(replace(shop, cutters=(short, long)), thread) == long
