from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import pytest

from analyzers.model.feature import Feature
from analyzers.model.finding import LEVELS, Finding
from analyzers.rules._base import Case, judge
from tests.rules import _builders as build

FEATURES: tuple[Feature, ...] = (
    build.hole(5.0, 60.0),
    build.hole(3.0, 100.0),
    build.hole(5.0, 120.0),
    build.hole(0.7, 3.0),
    build.hole(5.05, 14.0),
    build.hole(11.43, 30.0),
    build.hole(4.2, 14.0),
    build.hole(5.0, 8.0),
    build.hole(5.0, 30.0, entry="inclined", entry_angle_deg=30.0),
    build.countersunk(angle=78.0),
    build.pocket(12.0, 0.0),
    build.pocket(12.0, 0.0, width_mm=40.0),
    build.pocket(3.0, 0.5),
    build.pocket(20.0, 5.0),
    build.pocket(36.0, 3.5, width_mm=40.0),
    build.pocket(38.0, 4.0, width_mm=8.0),
    build.pocket(12.0, 6.0, floor_radius_mm=6.0),
    build.pocket(12.0, 6.0, floor_radius_mm=1.4),
    build.pocket(floor_thickness_mm=0.4),
    build.slot(6.0, 30.0),
    build.slot(1.5, 5.0),
    build.step(24.8, 12.0, corner_radius_mm=3.0),
    build.groove(1.0, 12.0),
    build.boss(27.0, 40.0, 3.0),
    build.fillet(0.5),
    build.region(1.0),
)


def changed(case: Case, finding: Finding) -> Case:
    """Return the case with the change that a finding proposes put into its features."""
    assert finding.change is not None
    change: dict[str, Any] = {finding.change.field: finding.change.value}
    features = tuple(
        replace(each, **change) if each.id in finding.change.features else each for each in case.facts.features
    )
    return replace(case, facts=replace(case.facts, features=features))


def proposals() -> Iterator[tuple[str, Case, Finding]]:
    """Yield every finding with a change, one feature at a time."""
    for feature in FEATURES:
        case = build.case(feature)
        for finding in judge(case)[0]:
            if finding.change is not None:
                yield f"{finding.rule}-{feature.callout()}", case, finding


CASES = list(proposals())


@pytest.mark.parametrize(("case", "finding"), [each[1:] for each in CASES], ids=[each[0] for each in CASES])
def test_proposed_change_clears_the_finding(case: Case, finding: Finding) -> None:
    """Put in and judged again, the rule says nothing, or something milder; what it says must come from judging."""
    again = [each for each in judge(changed(case, finding))[0] if each.rule == finding.rule]
    rank = LEVELS.index(finding.level)
    assert all(LEVELS.index(each.level) > rank for each in again), [each.message for each in again]


def test_enough_rules_propose_a_change() -> None:
    """The loop above has something to prove for a good part of the rules."""
    assert len({finding.rule for _, _, finding in CASES}) >= 16


def test_every_feature_above_makes_some_rule_speak() -> None:
    """None of them is there for nothing."""
    spoken = {case.facts.features[0].callout() for _, case, _ in CASES}
    assert {each.callout() for each in FEATURES} <= spoken
