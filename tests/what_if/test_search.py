from dataclasses import replace

import pytest

from analyzers.model.finding import Change, Finding
from analyzers.model.source import Source
from analyzers.plan import layout_for
from analyzers.rules import Case, judge
from analyzers.rules._limits import Way, load_limits
from analyzers.settings import load_settings
from analyzers.what_if import MOST_TRIALS, bench, try_changes
from analyzers.what_if.edit import edited
from analyzers.what_if.search import _at_step, _steps
from analyzers.what_if.whole_body import scaled, shortened
from fixtures.make.vocabulary.holes import drill
from fixtures.make.vocabulary.recesses import slot
from fixtures.make.vocabulary.stock import block
from fixtures.make.vocabulary.work import Work
from tests.rules import _builders as build
from tests.what_if._rebuilt import TRIPS, body_of, deep_hole, first_body

SETTINGS = load_settings()
SOURCE = Source("trip.step", "", 0, length_unit="mm")


def case_of(work: Work) -> Case:
    """Return the case of a part built for true."""
    body = body_of(work)
    return Case(facts=body.facts, plan=body.plan, settings=SETTINGS, source=SOURCE)


def tried(case: Case, *findings: Finding) -> tuple[Finding, ...]:
    """Return the findings of a case, or some others, with the changes tried."""
    found, problems = try_changes(case, layout_for(case.facts, SETTINGS), findings or judge(case)[0])
    assert problems == ()
    return found


def of(findings: tuple[Finding, ...], rule: str) -> Finding:
    """Return the one finding of a rule."""
    (found,) = (each for each in findings if each.rule == rule)
    return found


@pytest.mark.parametrize(
    ("was", "value", "step", "values"),
    [
        pytest.param(3.0, 3.35, 0.1, [3.1, 3.2, 3.3, 3.4], id="up-to-the-next-round-one"),
        pytest.param(3.05, 3.2, 0.1, [3.1, 3.2], id="from-between"),
        pytest.param(5.0, 4.65, 0.1, [4.9, 4.8, 4.7, 4.6], id="down"),
        pytest.param(2.54, 2.7, 0.127, [2.667, 2.794], id="in-steps-of-five-thousandths-of-an-inch"),
    ],
)
def test_round_values_on_the_way(was: float, value: float, step: float, values: list[float]) -> None:
    """They begin beyond the drawn size and end at or beyond the wanted one."""
    count = _steps(was, value, step)
    assert [_at_step(was, value, number, step) for number in range(1, count + 1)] == pytest.approx(values)


def test_the_smallest_round_value_is_found() -> None:
    """36 mm deep and at most ten diameters: 3.6, and not a tenth more; or no deeper than 30."""
    found = of(tried(case_of(deep_hole(3.0))), "hole_depth_ratio")
    assert found.change is not None
    assert (found.change.field, found.change.was, found.change.value) == ("diameter_mm", 3.0, 3.6)
    assert [(each.field, each.value) for each in found.alternatives] == [("depth_mm", 30.0)]


def test_one_change_clears_all_equal_holes() -> None:
    """Three holes share a finding and a change."""
    work = block((60.0, 40.0, 50.0))
    for x in (12.0, 27.0, 46.0):
        drill(work, (x, 20.0, 50.0), 3.0, 36.0, bottom="flat")
    found = of(tried(case_of(work)), "hole_depth_ratio")
    assert found.change is not None
    assert found.change.features == found.features
    assert len(found.features) == 3


def test_a_value_that_brings_another_warning_is_passed_over() -> None:
    """Wider slots would eat the ribs between them, so they are made shallower."""
    work = block((60.0, 40.0, 40.0))
    for y in (10.0, 15.5, 21.0):
        slot(work, (30.0, y, 40.0), 60.0, 4.0, 24.0)
    found = of(tried(case_of(work)), "deep_narrow_slot")
    assert found.change is not None
    assert (found.change.field, found.change.value) == ("depth_mm", 16.0)
    assert found.change.outcome is not None
    assert found.change.outcome.raises == ()


def test_trials_are_bounded_by_their_number(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where they are used up the finding says so."""
    monkeypatch.setattr(bench, "MOST_TRIALS", 0)
    found = of(tried(case_of(deep_hole(3.0))), "hole_depth_ratio")
    assert found.change is None
    assert "used up" in found.change_none_because
    assert MOST_TRIALS >= 20


def test_a_trial_that_fails_costs_itself() -> None:
    """A rule that proposes a field that no feature has: a problem, and the other findings stand."""
    case = case_of(deep_hole(3.0))
    found = of(judge(case)[0], "hole_depth_ratio")
    wrong = replace(found, change=Change(features=("F1",), field="colour_mm", value=1.0, was=0.5), alternatives=())
    after, problems = try_changes(case, layout_for(case.facts, SETTINGS), (wrong, found))
    assert after[0].change is None
    assert "colour_mm" in after[0].change_none_because
    assert after[1].change is not None
    assert [each.stage for each in problems] == ["what_if"]


def test_a_scaled_body_has_all_lengths_scaled() -> None:
    """Volume by the cube, areas by the square; ratios, counts and directions stay."""
    facts = first_body(next(each for each in TRIPS if each.build is deep_hole)).facts
    twice = scaled(facts, 2.0)
    assert twice.part.volume_mm3 == pytest.approx(8.0 * facts.part.volume_mm3)
    assert twice.part.face_area_mm2 == pytest.approx(4.0 * facts.part.face_area_mm2)
    assert twice.part.size_mm == pytest.approx([2.0 * each for each in facts.part.size_mm])
    hole, larger = facts.features[0].dimensions(), twice.features[0].dimensions()
    assert larger["diameter_mm"] == 2.0 * hole["diameter_mm"]
    assert larger["depth_ratio"] == hole["depth_ratio"]
    assert twice.features[0].direction == facts.features[0].direction
    by_name = {each.name: each.value for each in twice.measures}
    for each in facts.measures:
        if each.value is not None:
            factor = 2.0 if each.name.endswith("_mm") else 1.0
            assert by_name[each.name] == pytest.approx(factor * each.value), each.name


def test_a_shortened_body_is_shorter_on_that_axis_alone() -> None:
    """40 × 40 × 50 pressed to 30 along the last."""
    facts = first_body(next(each for each in TRIPS if each.build is deep_hole)).facts
    shorter = shortened(facts, 50.0, 30.0)
    assert shorter is not None
    assert shorter.part.size_mm == pytest.approx((40.0, 40.0, 30.0))
    assert shortened(facts, 77.0, 30.0) is None


def test_what_makes_no_sense_is_refused() -> None:
    """Corners rounder than half the width, a bore wider than its counterbore, a depth below zero."""
    pocket = build.pocket(12.0, 2.0, width_mm=10.0)
    bore = build.counterbored(6.0, 11.0)
    case = build.case(pocket, bore)
    for feature, field, value in (
        ("F1", "corner_radius_mm", 5.1),
        ("F2", "diameter_mm", 11.0),
        ("F1", "depth_mm", -1.0),
    ):
        assert edited(case, Change(features=(feature,), field=field, value=value)) is None
    assert edited(case, Change(features=("F1",), field="corner_radius_mm", value=5.0)) is not None


def test_a_way_names_what_moves() -> None:
    """By default the finding's own features, from their present size."""
    limits = load_limits("deep_narrow_slot")
    finding = limits.finding(
        limits["hard"], on=(build.slot(4.0, 24.0),), message="m", suggestion="s", change=Way("width_mm", 6.0)
    )
    assert finding.change is not None
    assert (finding.change.was, finding.change.value) == (4.0, 6.0)
