"""Questions go to the customer as they stand on the page: every number in one unit, the one that is chosen."""

import re
from functools import cache
from pathlib import Path

import pytest

from analyzers.model.report import Report
from analyzers.pipeline import analyse_file
from analyzers.report.page import page_view
from analyzers.settings import load_settings
from analyzers.triage import ask

FIXTURES = Path(__file__).parents[2] / "fixtures"
SETTINGS = load_settings(FIXTURES / "shops" / "hobby_inch.toml", None, None, 1)


@cache
def _report(name: str) -> Report:
    return analyse_file(FIXTURES / "parts" / f"{name}.step", SETTINGS).report


@pytest.mark.parametrize("name", ["inch_adapter", "oil_manifold"])
@pytest.mark.parametrize(("unit", "shown"), [("mm", "mm"), ("inch", "in")])
@pytest.mark.parametrize(("language", "reads"), [("en", "en"), ("de", "de")])
def test_page_asks_wholly_in_the_chosen_unit(name: str, unit: str, shown: str, language: str, reads: str) -> None:
    """Word for word what is asked in that unit and language; a diameter without "mm" behind it included."""
    report = _report(name)
    (body,) = report.bodies
    asked = ask(body.facts, body.plan, body.findings, report.source, SETTINGS, language, unit)  # type: ignore[arg-type]
    assert any("⌀" in each for each in asked), "an example without sizes shows nothing"
    html = [str(each) for each in page_view(report, settings=SETTINGS).bodies[0].questions]
    assert [_seen(each, shown, reads) for each in html] == list(asked)


def _seen(html: str, unit: str, language: str) -> str:
    """Return the text that the style sheet leaves of a question."""
    (part,) = re.findall(
        rf'<span class="{language}" lang="{language}">(.*?)</span>(?=<span class="de"|</span>|$)', html
    )
    (said,) = re.findall(rf'<span class="{unit}">(.*?)(?:</span>|$)', part)
    return re.sub(r"<[^>]+>", "", said).replace("&#39;", "'").replace("&amp;", "&")


def test_inches_are_millimetres_over_25_4() -> None:
    """The same question in both units: hole diameters of the inch part, one by one (1 in = 25.4 mm, ISO 31-1)."""
    report = _report("inch_adapter")
    (body,) = report.bodies
    sizes = [
        re.findall(
            r"⌀(\d+(?:\.\d+)?)",
            " ".join(ask(body.facts, body.plan, body.findings, report.source, SETTINGS, "en", unit)),
        )
        for unit in ("mm", "inch")
    ]
    assert len(sizes[0]) > 0
    for mm, inch in zip(*sizes, strict=True):
        assert float(mm) == pytest.approx(25.4 * float(inch), abs=0.0025)  # the inches have four decimals
