"""WCAG 2.2 A and AA by axe-core (Deque; the copy inside the PyPI package axe-playwright-python), in both themes."""

from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe

from analyzers.model.report import Report
from analyzers.pipeline import analyse_file
from analyzers.report.as_html import to_html
from analyzers.report.as_json import to_json
from analyzers.report.as_overview import Entry, to_overview
from analyzers.settings import load_settings
from tests.report import _builders as build
from tests.report._chromium import LIVE_MS, needs_chromium, needs_viewer, opened

pytestmark = [needs_chromium, needs_viewer]
PARTS = Path(__file__).parents[2] / "fixtures" / "parts"
RULES = {
    "runOnly": {"type": "tag", "values": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]}
}
SERIOUS = ("serious", "critical")


@cache
def example() -> Report:
    """Return the report of an assembly: overview, several bodies, all kinds of tables."""
    return analyse_file(PARTS / "press_assembly.step", load_settings(None, None, None, 1)).drawn()


def report_page(make: Callable[[], Report]) -> str:
    """Return a report's page."""
    return to_html(make(), load_settings(None, None, None, 1))


def overview_page() -> str:
    """Return the page of a batch with a part, its twin and a file that was not read."""
    found = [to_json(each) for each in (example(), example(), build.unreadable())]
    return to_overview([Entry(each, f"{at}/report.html", None) for at, each in enumerate(found)], "batch")


@pytest.mark.parametrize("theme", ["light", "dark"])
@pytest.mark.parametrize(
    ("make", "webgl"),
    [
        pytest.param(lambda: report_page(example), False, id="assembly-pictures"),
        pytest.param(lambda: report_page(build.with_many_features), True, id="one-body-3d"),
        pytest.param(lambda: report_page(build.unreadable), False, id="unreadable"),
        pytest.param(overview_page, False, id="overview"),
    ],
)
def test_no_serious_violation(tmp_path: Path, make: Callable[[], str], webgl: bool, theme: str) -> None:
    """No serious or critical violation, contrast of text included; what is found is named with its element."""
    file = tmp_path / "report.html"
    file.write_text(make(), encoding="utf-8")
    with opened(file, webgl=webgl, free_scripts=True) as (page, _):
        page.add_style_tag(content=".card { content-visibility: visible !important; }")  # off the screen too
        page.click(f"label[for=theme-{theme}]")
        if webgl:
            page.wait_for_selector("figure.live", timeout=LIVE_MS)
        found: dict[str, Any] = Axe().run(page, options=RULES).response
    bad = [
        f"{each['id']} ({each['impact']}): {node['html'][:160]} {node['any'][0]['message'] if node['any'] else ''}"
        for each in found["violations"]
        if each["impact"] in SERIOUS
        for node in each["nodes"]
    ]
    assert len(found["passes"]) > 10, "axe did not run"
    assert bad == []


@pytest.mark.parametrize(("touch", "least_px"), [(False, 24), (True, 44)], ids=["mouse", "finger"])
def test_what_is_pressed_is_large_enough(tmp_path: Path, touch: bool, least_px: float) -> None:
    """Buttons and choices are 24 pixels high and wide (WCAG 2.2, 2.5.8), for a finger 44 (2.5.5)."""
    file = tmp_path / "report.html"
    file.write_text(report_page(build.with_many_features), encoding="utf-8")
    with opened(file, width=820, height=1180, webgl=True, touch=touch) as (page, wrong):
        page.wait_for_selector("figure.live", timeout=LIVE_MS)
        pressed = page.locator(".tools button:visible, .tools select:visible, .choice label, button.copy, button.show")
        boxes = pressed.evaluate_all(
            "all => all.map(each => [each.innerText, each.getBoundingClientRect().width, "
            "each.getBoundingClientRect().height])"
        )
        assert len(boxes) > 12
        assert [box for box in boxes if min(box[1:]) < least_px - 0.5] == []
        assert wrong == []
