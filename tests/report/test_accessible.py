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


@pytest.mark.parametrize("theme", ["light", "dark"])
@pytest.mark.parametrize(
    ("make", "webgl"),
    [
        pytest.param(example, False, id="assembly-pictures"),
        pytest.param(build.with_many_features, True, id="one-body-3d"),
        pytest.param(build.unreadable, False, id="unreadable"),
    ],
)
def test_no_serious_violation(tmp_path: Path, make: Callable[[], Report], webgl: bool, theme: str) -> None:
    """No serious or critical violation, contrast of text included; what is found is named with its element."""
    file = tmp_path / "report.html"
    settings = load_settings(None, None, None, 1)
    file.write_text(to_html(make(), settings), encoding="utf-8")
    with opened(file, webgl=webgl, free_scripts=True) as (page, _):
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
