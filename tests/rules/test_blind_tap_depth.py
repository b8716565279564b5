from dataclasses import replace

import pytest

from analyzers.model.feature import Feature
from analyzers.model.tolerance_note import ToleranceNote
from analyzers.rules._base import Case
from tests.rules import _builders as build

RULE = "blind_tap_depth"


def test_fires() -> None:
    """⌀5 blind is the tap drill of M6 (pitch 1): DIN 76-2 asks 5.1 mm below the thread, 4.9 mm are left of 10."""
    (found,) = build.ask(RULE, build.case(build.hole(5.0, 10.0)))
    assert build.told(found) == ("note", pytest.approx(4.9 / 6.0), 1.0)
    assert "M6" in found.message
    assert "leaves 4.9 mm of full thread, 0.8 × d" in found.message
    assert "↧11.5" in found.suggestion  # 6 + 5.1 to the next half


@pytest.mark.parametrize(
    "hole",
    [
        pytest.param(build.hole(5.0, 11.1), id="exactly-one-diameter-of-thread"),
        pytest.param(build.hole(5.0, 20.0), id="deep"),
        pytest.param(build.hole(5.0, 10.0, through=True, bottom="through"), id="through"),
        pytest.param(build.hole(5.0, None), id="depth-not-measured"),
        pytest.param(build.hole(11.43, 6.0), id="no-tap-drill"),
    ],
)
def test_stays_silent(hole: Feature) -> None:
    """Room enough, or no thread in sight."""
    assert build.ask(RULE, build.case(hole)) == []


def test_suggested_depth_clears_it() -> None:
    """Judged again with that depth, nothing is left to say."""
    shallow = build.hole(5.0, 10.0)
    (found,) = build.ask(RULE, build.case(shallow))
    assert found.change is not None
    assert build.ask(RULE, build.case(replace(shallow, depth_mm=found.change.number))) == []


def named(thread: str, depth: float, diameter: float = 7.3) -> Case:
    """Return a blind hole of a size that tells nothing, whose thread the model names."""
    case = build.case(build.hole(diameter, depth))
    note = ToleranceNote(kind="thread", thread=thread, pitch_mm=1.0, faces=(20,))
    return replace(case, facts=replace(case.facts, tolerances=(note,)))


@pytest.mark.parametrize(
    ("thread", "run_out_mm", "nominal_mm"), [("M8×1.25-6H", 6.2, 8.0), ("M8×1", 5.1, 8.0), ("M6", 5.1, 6.0)]
)
def test_a_thread_that_the_model_names_is_judged_whatever_the_size(
    thread: str, run_out_mm: float, nominal_mm: float
) -> None:
    """Fine ones too; run-outs of DIN 76-2 for pitches 1.25 and 1 (facts table thread_runout_blind_din76)."""
    (found,) = build.ask(RULE, named(thread, 10.0))
    assert found.measured == pytest.approx((10.0 - run_out_mm) / nominal_mm)
    assert f"is named {thread} in the model; the tap's" in found.message


@pytest.mark.parametrize("case", [named("M8×1.25-6H", 14.2), named("1/4-20 UNC", 5.0), named("G1/4", 5.0)])
def test_stays_silent_where_a_named_thread_has_room_or_is_not_metric(case: Case) -> None:
    """Exactly one diameter of full thread; the run-outs of inch threads are not in the table."""
    assert build.ask(RULE, case) == []
