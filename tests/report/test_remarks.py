"""The few things that the first screen says."""

from dataclasses import replace

from analyzers.model.plan import Unmade
from analyzers.model.report import Body
from analyzers.model.triage import Driver
from analyzers.report.remarks import MATTERS, SAID_ANYWAY, Matter, finding_rows, matters
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
    """Unmade, error, warning, reasons, notes; the list ends where the screen does."""
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
    assert "too deep" in found[0].text


def test_a_remark_says_what_to_change() -> None:
    """The change stands below the remark, in both units."""
    found = said(with_drivers())
    assert "Change it by" in found[0].change
    assert "0.0787 in" in found[0].change


def test_an_unmade_feature_is_named_once() -> None:
    """A finding about the unmade feature only says the same again."""
    body = build.body(
        findings=(build.finding(level="error", message="Too deep.", feature="F1", features=("F1",)),),
        plan=build.plan(unmade=(Unmade(feature="F1", why="too deep"),)),
    )
    assert ["Too deep." in each.text for each in said(body)].count(True) == 0


def test_nothing_to_say() -> None:
    """A plain part without remarks has no list."""
    body = build.body(findings=())
    assert said(replace(body, triage=replace(body.triage, drivers=()))) == []
