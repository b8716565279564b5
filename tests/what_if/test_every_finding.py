"""Every error and warning of every example part carries a change that was tried, or says why there is none."""

import re
from pathlib import Path

import pytest

from analyzers.model.finding import Finding
from analyzers.model.report import Report
from analyzers.pipeline import analyse
from analyzers.report.as_json import to_json
from analyzers.settings import load_settings
from analyzers.what_if import PARAMETERS

STEMS = sorted(path.stem for path in (Path(__file__).parents[2] / "fixtures" / "parts").glob("*.step"))
WITHOUT = {"floor_plate": ("exceeds_travels",)}
"""Two of its lengths are longer than every machine travels, so no single one clears it."""


@pytest.fixture(scope="module")
def reports(parts: Path) -> dict[str, Report]:
    """Return the report of every example part."""
    settings = load_settings()
    return {stem: analyse(parts / f"{stem}.step", settings) for stem in STEMS}


def serious(report: Report) -> list[Finding]:
    """Return errors and warnings of all bodies."""
    return [each for body in report.bodies for each in body.findings if each.level != "note"]


def test_enough_parts_have_something_to_clear(reports: dict[str, Report]) -> None:
    """The loops below judge something."""
    assert sum(1 for each in reports.values() if serious(each)) >= 8


@pytest.mark.parametrize("stem", STEMS)
def test_each_is_cleared_or_says_why_not(reports: dict[str, Report], stem: str) -> None:
    """A tried change with what it does, in the text too; where there is none, the reason with what was tried."""
    without = []
    for finding in serious(reports[stem]):
        if finding.change is None:
            without.append(finding.rule)
            assert "the finding stays" in finding.change_none_because
            continue
        assert finding.change.outcome is not None
        assert finding.change.outcome.leaves in (None, "note")
        assert finding.change_none_because == ""
        assert finding.effect.endswith(".")
        assert all(each.outcome is not None for each in finding.alternatives)
    assert tuple(without) == WITHOUT.get(stem, ())


@pytest.mark.parametrize("stem", STEMS)
def test_notes_keep_their_rules_proposal_untried(reports: dict[str, Report], stem: str) -> None:
    """Trials are for what stops or delays a part."""
    for body in reports[stem].bodies:
        assert all(each.change is None or each.change.outcome is None for each in body.findings if each.level == "note")


def test_the_document_names_parameter_from_to_and_what_it_does(reports: dict[str, Report]) -> None:
    """As other programs read it."""
    (body,) = to_json(reports["sharp_window"])["bodies"]
    change = body["findings"][0]["change"]
    assert (change["parameter"], change["unit"], change["from"], change["clears"]) == (
        "corner_radius_mm",
        "mm",
        0.0,
        True,
    )
    assert change["to"] > 1.0
    assert change["made"] == change["features"]
    assert change["minutes_saved"] < 0.0  # a feature more is made
    assert set(change["cutters"]) == {"spared", "added"}
    assert {each["change"]["clears"] for each in body["findings"] if each["level"] == "note" and each["change"]} <= {
        None
    }


def test_every_parameter_that_a_rule_proposes_has_words() -> None:
    """Each `Way("name", ...)` and `change=("name", ...)` in the rules' files stands in the table of parameters."""
    text = "".join(
        path.read_text(encoding="utf-8") for path in (Path(__file__).parents[2] / "analyzers" / "rules").glob("*.py")
    )
    named = set(re.findall(r'(?:Way|change=)\(\s*"(\w+)"', text)) | {"diameter_mm", "width_mm"}
    assert len(named) > 20
    assert named <= set(PARAMETERS)
