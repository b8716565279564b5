"""The few things that the first screen says."""

from dataclasses import replace
from typing import Any

import pytest

from analyzers.model.finding import Level
from analyzers.model.measure import ThinPlace
from analyzers.model.plan import Unmade
from analyzers.model.report import Body
from analyzers.model.triage import Driver
from analyzers.report.as_html import to_html
from analyzers.report.remarks import (
    MATTERS,
    SAID_ANYWAY,
    TOLD_BY,
    Matter,
    bucket_reason,
    finding_rows,
    matters,
    thin_places,
)
from analyzers.rules import rule_names
from tests.report import _builders as build


def said(body: Body) -> list[Matter]:
    """Return what matters most about a body."""
    return list(matters(body, tuple(finding_rows(body))))


def with_drivers(*names: str) -> Body:
    """Return a body with one note and these reasons for its difficulty."""
    body = build.body(findings=(build.finding(level="note", message="A note.", suggestion="Change it by 2 mm."),))
    drivers = tuple(Driver(name=name, points=5.0, why=f"because of {name}") for name in names)
    return replace(body, triage=replace(body.triage, drivers=drivers))


def test_what_the_tiles_show_is_not_said_again() -> None:
    """Setups, time and cutters are numbers on the first screen already; a deep hole is not."""
    found = said(with_drivers(*SAID_ANYWAY, "depth"))
    assert [str(each.text) for each in found] == ["Because of depth", "A note."]


def test_graver_things_come_first_and_no_more_than_three() -> None:
    """Error, unmade, warning, reasons, notes; the list ends where the screen does."""
    findings = tuple(
        build.finding(level=level, message=f"A {level}.", feature="F9", features=("F9",))
        for level in ("note", "warning", "error")
    )
    body = build.body(
        findings=tuple(reversed(findings)), plan=build.plan(unmade=(Unmade(feature="F1", why="too deep"),))
    )
    found = said(body)
    assert len(found) == MATTERS
    assert [each.level for each in found] == ["error", "error", "warning"]
    assert "too deep" in found[1].text


def test_a_remark_says_what_to_change() -> None:
    """The change stands below the remark, in both units."""
    found = said(with_drivers())
    assert "Change it by" in found[0].change
    assert "0.0787 in" in found[0].change


def test_an_unmade_feature_is_named_once() -> None:
    """The error about it says it with a change; the plan's own line would only say it again."""
    body = build.body(
        findings=(build.finding(level="error", message="Too deep.", feature="F1", features=("F1",)),),
        plan=build.plan(unmade=(Unmade(feature="F1", why="too deep"),)),
    )
    about = [each for each in said(body) if "oo deep" in each.text]
    assert [each.text for each in about] == ["Too deep."]
    assert "Move it" in about[0].change


@pytest.mark.parametrize("level", ["warning", "note"])
def test_what_a_finding_tells_closer_is_no_reason_of_its_own(level: Level) -> None:
    """A thin floor that is reported is not followed by "a floor of 0.6 mm"; without the finding it is said."""
    body = with_drivers("walls", "depth")
    thin = build.finding(rule="thin_floor", level=level, message="A floor of 0.6 mm.")
    other = build.finding(rule="mostly_chips", level="note", message="94% becomes chips.")
    texts = [str(each.text) for each in said(replace(body, findings=(thin, other)))]
    assert "Because of walls" not in texts
    assert sorted(texts, key=lambda text: text != "Because of depth")[0] == "Because of depth"
    assert texts[-1] == "94% becomes chips."
    assert "Because of walls" in [str(each.text) for each in said(replace(body, findings=(other,)))]


def test_rules_that_tell_reasons_exist() -> None:
    """A rule that is renamed would be said twice."""
    assert {rule for rules in TOLD_BY.values() for rule in rules} <= set(rule_names())


def test_the_reason_for_the_bucket_is_not_said_again() -> None:
    """It stands above, with its own change."""
    errors = tuple(build.finding(level="error", message=f"Too {what}.") for what in ("deep", "thin"))
    body = build.body(findings=errors)
    body = replace(body, triage=replace(body.triage, summary="Not as modelled: Too thin (and 1 more)."))
    rows = tuple(finding_rows(body))
    reason = bucket_reason(body, rows)
    assert reason is not None
    assert "Too thin" in reason.message
    assert "Too thin." not in [str(each.text) for each in matters(body, rows)]
    assert "Too deep." in [str(each.text) for each in matters(body, rows)]


def test_a_thin_place_that_is_reported_needs_no_second_mark() -> None:
    """The warning about its face marks it; a note or another rule does not."""
    body = build.body()
    wall = ThinPlace(thickness_mm=0.5, point_mm=(1.0, 2.0, 3.0), faces=(0, build.HOLE_FACE), area_mm2=4.0)
    body = replace(body, facts=replace(body.facts, walls=(wall,)))

    def marked(**changes: Any) -> int:
        rows = tuple(finding_rows(replace(body, findings=(build.finding(**changes),))))
        return len(list(thin_places(body, rows)))

    assert marked(rule="thin_wall") == 0
    assert marked(rule="thin_wall", level="note") == 1
    assert marked(rule="small_hole") == 1


def test_nothing_to_say() -> None:
    """A plain part without remarks has no list."""
    body = build.body(findings=())
    assert said(replace(body, triage=replace(body.triage, drivers=()))) == []


@pytest.mark.parametrize("reason", [True, False])
def test_a_list_without_the_reason_does_not_say_that_it_is_all(reason: bool) -> None:
    """Where an error stands above as the reason for the bucket, what follows is what else matters."""
    error = build.finding(level="error", message="Too thin.")
    for others in ((build.finding(level="note", message="A note."),), ()):
        body = build.body(findings=(error, *others))
        summary = "Not as modelled: Too thin." if reason else "Three setups."
        page = to_html(build.report(replace(body, triage=replace(body.triage, summary=summary, drivers=()))))
        assert ("What else matters" in page, "What matters most" in page) == (reason, not reason)
        assert ("Nothing else stands out." in page) == (reason and not others)
