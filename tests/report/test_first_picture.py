"""What the page leaves for later so that the part shows soon: it must be there when it is wanted."""

import re
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from analyzers.pipeline import analyse_file
from analyzers.report.as_html import to_html
from analyzers.settings import load_settings
from tests.report._chromium import LIVE_MS, at_rest, needs_chromium, needs_viewer, opened

PARTS = Path(__file__).parents[2] / "fixtures" / "parts"
pytestmark = [needs_chromium, needs_viewer]
LINES = "figure.view > svg .lines"
FURTHER = ".card details:not(.about) table"


@cache
def written() -> str:
    """Return the page of a real part with line drawings."""
    settings = load_settings(None, None, None, 1)
    return to_html(analyse_file(PARTS / "oil_manifold.step", settings).drawn(), settings)


@pytest.fixture(name="page")
def _page(tmp_path: Path) -> Iterator[Page]:
    """Open the page with its viewer running and at rest."""
    file = tmp_path / "report.html"
    file.write_text(written(), encoding="utf-8")
    with opened(file, webgl=True) as (page, wrong):
        at_rest(page)
        yield page
        assert wrong == []


@pytest.mark.parametrize("viewer", [True, False], ids=["no-webgl", "no-viewer-in-the-page"])
def test_a_picture_that_stays_has_its_lines(tmp_path: Path, viewer: bool) -> None:
    """Where no viewer takes its place, the picture is the whole line drawing."""
    file = tmp_path / "report.html"
    html = written() if viewer else re.sub(r'<script type="application/octet-stream".*?</script>', "", written())
    file.write_text(html, encoding="utf-8")
    with opened(file) as (page, wrong):
        expect(page.locator(LINES)).to_be_visible()
        assert wrong == []


def test_paper_shows_lines_and_every_section(page: Page) -> None:
    """From a running viewer too the picture has its lines, and no section off the screen or folded is left out."""
    cards = page.locator(".card")
    assert cards.count() > 6
    shown = "cards => cards.map(each => getComputedStyle(each).contentVisibility)"
    expect(page.locator("html.settled")).to_be_attached()
    page.evaluate("document.documentElement.classList.remove('settled')")  # as before the part was drawn
    assert set(cards.evaluate_all(shown)) == {"auto"}
    page.emulate_media(media="print")
    assert set(cards.evaluate_all(shown)) == {"visible"}
    expect(page.locator(LINES)).to_be_visible()
    expect(page.locator(FURTHER)).to_be_visible()
    page.emulate_media(media="screen")
    expect(page.locator(LINES)).to_be_hidden()
    expect(page.locator(FURTHER)).to_be_hidden()


@pytest.mark.parametrize("webgl", [True, False], ids=["3d", "pictures"])
def test_the_whole_page_is_laid_out_in_the_end(tmp_path: Path, webgl: bool) -> None:
    """Once the part stands, or is known to stay a picture, no section waits for being scrolled to."""
    file = tmp_path / "report.html"
    file.write_text(written(), encoding="utf-8")
    with opened(file, webgl=webgl) as (page, wrong):
        expect(page.locator("html.settled")).to_be_attached(timeout=LIVE_MS)
        shown = "cards => cards.map(each => getComputedStyle(each).contentVisibility)"
        assert set(page.locator(".card").evaluate_all(shown)) == {"visible"}
        assert wrong == []


def test_a_section_is_found_and_reached_before_it_was_ever_shown(page: Page) -> None:
    """A link to the last section brings it onto the screen, laid out."""
    page.click('nav a[href="#about"]')
    expect(page.locator("#about h2")).to_be_in_viewport()


def test_leaders_to_places_behind_the_part_are_dashed(page: Page) -> None:
    """The counterbores open to the top: from above their marks are plain, from below the part hides them."""
    behind = {}
    for view in ("Top", "Bottom"):
        page.locator(".tools button", has_text=view).click()
        at_rest(page)
        behind[view] = page.locator(".labels circle.behind").count()
    assert page.locator(".labels circle").count() > 0
    assert behind["Top"] < behind["Bottom"]
