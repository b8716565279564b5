"""Reports of ten parts of other people's projects, opened from disk in a real browser without a network.

The parts are read where they lie (`corpora/real`, licences in its SOURCES.md); none is copied here.
"""

import io
import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image
from playwright.sync_api import Page

from analyzers.pipeline import analyse_file
from analyzers.report.as_html import to_html
from analyzers.report.as_json import to_json
from analyzers.settings import load_settings
from tests.report._chromium import LIVE_MS, at_rest, needs_chromium, needs_viewer, opened
from tests.report.test_german_pages import ENGLISH

pytestmark = [needs_chromium, needs_viewer]
PARTS = (
    "nist_ctc_01_asme1_ap242.stp",
    "so-passive_horn_01.step",
    "mesospim-mvx-10-bracket-v5.stp",
    "aagnet_part_a.step",
    "openeai-jxs-01-01.step",
    "original-plug-aligner.stp",
    "trimesh-base_interface_ap214.step",
    "mesospim-m-060-adapter.stp",
    "cadquery-red_cube_blue_cylinder.step",
    "amazinghand-amazing_hand_parts_-_distal.step",
)
PAPER_PX = {"A4": round((210 - 24) / 25.4 * 96), "Letter": round((215.9 - 24) / 25.4 * 96)}
"""Width between the margins that the style sheet gives the paper."""


@dataclass(frozen=True, slots=True)
class Open:
    """An open report, what went wrong in it so far, and its document."""

    page: Page
    wrong: list[str]
    document: dict[str, Any]


@cache
def made(path: Path) -> tuple[str, dict[str, Any]]:
    """Return the page and the document of a part."""
    settings = load_settings(None, None, None, 1)
    report = analyse_file(path, settings).drawn()
    return to_html(report, settings), to_json(report)


@pytest.fixture(name="report", params=PARTS, ids=lambda name: name.split(".")[0])
def _report(request: pytest.FixtureRequest, corpora: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Open]:
    """Open one part's report with its viewer running, anew for each test; at the end nothing may have gone wrong."""
    html, document = made(corpora / "real" / request.param)
    file = tmp_path_factory.mktemp("real") / "report.html"
    file.write_text(html, encoding="utf-8")
    with opened(file, webgl=True) as (page, wrong):
        page.wait_for_selector("figure.live", timeout=LIVE_MS)
        yield Open(page, wrong, document)
        assert wrong == []


def picture(page: Page) -> np.ndarray[Any, Any]:
    """Return what the canvas shows once it stands still, without the labels, as (rows, columns, red green blue)."""
    canvas = page.locator("figure.live .stage canvas").first
    page.evaluate("for (const each of document.querySelectorAll('.labels')) each.style.visibility = 'hidden'")
    at_rest(page)
    shot = canvas.screenshot()
    page.evaluate("for (const each of document.querySelectorAll('.labels')) each.style.visibility = ''")
    return np.asarray(Image.open(io.BytesIO(shot)).convert("RGB")).astype(int)


def pink(image: np.ndarray[Any, Any]) -> np.ndarray[Any, Any]:
    """Return where the colour of marked faces shows."""
    red, green, blue = image[..., 0], image[..., 1], image[..., 2]
    found: np.ndarray[Any, Any] = (red - green > 60) & (blue - green > 20)
    return found


def expected_faces(document: dict[str, Any], number: int) -> set[int]:
    """Return the faces of the `number`-th finding that the page lists for the first body: equal remarks are one."""
    body = document["bodies"][0]
    equal: dict[tuple[str, ...], set[int]] = {}
    features = {each["id"]: each["faces"] for each in body["features"]}
    for each in body["findings"]:
        key = (each["rule"], each["level"], each["message"], each["suggestion"])
        equal.setdefault(key, set()).update(each["faces"] or features.get(each["feature"], []))
    return list(equal.values())[number - 1]


def test_finding_marks_its_faces_and_a_click_there_finds_them(report: Open) -> None:
    """A finding's button marks exactly its faces; where they show, a click picks one of them by its index."""
    page, body = report.page, report.document["bodies"][0]
    buttons = page.locator(f"#{body['id']}-findings li:has(button.show)")
    checked = 0
    for at in range(min(buttons.count(), 3)):
        item = buttons.nth(at)
        number = int((item.get_attribute("id") or "").rsplit("-", 1)[1])
        item.locator("button.show").click()
        figure = page.locator(f"figure[data-body='{body['id']}']")
        marked = {int(each) for each in (figure.get_attribute("data-marked") or "").split()}
        assert marked == expected_faces(report.document, number)
        shows = pink(picture(page))
        assert np.count_nonzero(shows) > 20, f"finding {number} cannot be seen"
        inner = _inside(shows)
        if inner is not None:
            box = page.locator("figure.live .stage canvas").first.bounding_box()
            assert box
            figure.evaluate("(each) => each.removeAttribute('data-picked')")
            page.mouse.click(box["x"] + inner[1] + 0.5, box["y"] + inner[0] + 0.5)
            page.wait_for_selector(f"figure[data-body='{body['id']}'][data-picked]", timeout=LIVE_MS)
            picked = figure.get_attribute("data-picked") or ""
            checked += int(picked) in marked
    if buttons.count():
        assert checked >= 1, "no marked face was found by a click on it"


def _inside(shows: np.ndarray[Any, Any]) -> tuple[int, int] | None:
    """Return a place well inside the pink, away from its border: None where it is too narrow."""
    core = shows.copy()
    for _ in range(3):
        core[1:-1, 1:-1] &= core[:-2, 1:-1] & core[2:, 1:-1] & core[1:-1, :-2] & core[1:-1, 2:]
    rows, columns = np.nonzero(core)
    if not len(rows):
        return None
    middle = np.argmin((rows - rows.mean()) ** 2 + (columns - columns.mean()) ** 2)
    return int(rows[middle]), int(columns[middle])


def test_question_marks_what_it_is_about(report: Open) -> None:
    """A question's button marks the faces of exactly the features, or the faces, that it names."""
    page, body = report.page, report.document["bodies"][0]
    faces = {each["id"]: set(each["faces"]) for each in body["features"]}
    buttons = page.locator(f"#{body['id']}-questions button.show")
    for at in range(buttons.count()):
        button = buttons.nth(at)
        named = (button.get_attribute("data-features") or "").split()
        given = (button.get_attribute("data-faces") or "").split()
        wanted = set().union(*(faces[each] for each in named), map(int, given))
        assert wanted
        button.click()
        at_rest(page)
        figure = page.locator(f"figure[data-body='{body['id']}']")
        assert {int(each) for each in (figure.get_attribute("data-marked") or "").split()} == wanted


PAIRS = """() => Array.from(document.querySelectorAll('.mm:not(.chart .mm)'), (mm) => {
  const inch = mm.nextElementSibling;
  const seen = (each) => each && getComputedStyle(each).display !== 'none';
  return [mm.textContent, inch && inch.classList.contains('in') ? inch.textContent : null, seen(mm), seen(inch)];
})"""
NUMBER = re.compile(r"\d+(?:\.\d+)?(?:e-?\d+)?")
VISIBLE_MM = r"""() => {
  const found = [], walk = document.createTreeWalker(document.querySelector('main'), NodeFilter.SHOW_TEXT);
  while (walk.nextNode()) {
    const node = walk.currentNode, parent = node.parentElement;
    if (parent.closest('script, style, title') || !parent.checkVisibility()) continue;
    if (/\d\s?mm\b/.test(node.textContent)) found.push(node.textContent.trim());
  }
  return found;
}"""


def numbers(text: str) -> list[float]:
    """Return the numbers of a text; digits in groups are one, and a German comma is a point."""
    return [float(each) for each in NUMBER.findall(re.sub(r"(?<=\d),(?=\d)", ".", text.replace("\u202f", "")))]


def test_unit_switch_changes_every_length(report: Open) -> None:
    """In inches no millimetre is left, and every length is the other one divided by 25.4 (its square, its cube)."""
    page = report.page
    page.click("label[for=unit-in]")
    try:
        assert [text for text in page.evaluate(VISIBLE_MM) if not _about_a_name(text)] == []
        pairs = [each for each in page.evaluate(PAIRS) if each[1] is not None]
        assert len(pairs) > 20
        for mm, inch, mm_seen, _ in pairs:
            assert not mm_seen, mm
            power = 3 if "³" in inch else 2 if "²" in inch else 1
            for one, other in zip(numbers(mm), numbers(inch), strict=True):
                assert other == pytest.approx(one / 25.4**power, rel=0.02, abs=0.0006) or one == other, (mm, inch)
    finally:
        page.click("label[for=unit-mm]")


NAMES = """() => Array.from(document.querySelectorAll('[aria-label], [title], svg title'), (each) =>
  each.getAttribute('aria-label') ?? each.getAttribute('title') ?? each.textContent)"""


def test_names_follow_language_and_unit(report: Open) -> None:
    """Accessible names and tooltips, the viewer's too: German in German, inches in inches, and back as they were."""
    page = report.page
    page.click("label[for=unit-mm]")
    before = page.evaluate(NAMES)
    assert any(re.search(r"\d mm", each) for each in before)
    page.click("label[for=lang-de]")
    page.click("label[for=unit-in]")
    assert page.evaluate("document.documentElement.lang") == "de"
    said = [each.replace(report.document["source"]["product_name"] or "-", "") for each in page.evaluate(NAMES)]
    assert [each for each in said if re.search(r"\d\s?mm\b", each)] == []
    assert [each for each in said if ENGLISH & set(re.findall(r"\b[a-z]+\b", each.lower()))] == []
    page.click("label[for=lang-en]")
    page.click("label[for=unit-mm]")
    assert page.evaluate(NAMES) == before


def _about_a_name(text: str) -> bool:
    """Return whether a text names a file, a unit or a source rather than a length of the part."""
    return bool(re.search(r"basis:|the shop file's|judgement|ISO|DIN|SHA|\.st(e)?p\b", text))


@pytest.mark.parametrize("paper", PAPER_PX)
def test_print_cuts_no_table(report: Open, paper: str) -> None:
    """On A4 and Letter every table and drawing ends inside the margins, heads repeat, no row is torn apart."""
    page = report.page
    page.emulate_media(media="print")
    page.set_viewport_size({"width": PAPER_PX[paper], "height": 1000})
    try:
        wide = page.evaluate(
            """(width) => Array.from(document.querySelectorAll('table, figure, svg, .card, p, li'))
              .filter((each) => each.checkVisibility() && each.getBoundingClientRect().right > width + 1)
              .map((each) => each.outerHTML.slice(0, 80))""",
            PAPER_PX[paper],
        )
        assert wide == []
        torn = page.evaluate(
            """() => Array.from(document.querySelectorAll('tr'))
              .filter((each) => getComputedStyle(each).breakInside !== 'avoid').length"""
        )
        assert torn == 0
        heads = page.evaluate(
            "() => Array.from(document.querySelectorAll('.rows thead'), (each) => getComputedStyle(each).display)"
        )
        assert set(heads) <= {"table-header-group"}
    finally:
        page.emulate_media(media="screen")
        page.set_viewport_size({"width": 1400, "height": 900})


def test_colours_by_thickness_show_their_numbers(report: Open) -> None:
    """The scale has six numbers from thin to thick and the picture changes; back again it is as before."""
    page = report.page
    figure = page.locator("figure.live").first
    choice = figure.locator("select.by")
    before = picture(page)
    choice.select_option("thickness")
    assert not np.array_equal(picture(page), before)
    legend = page.locator(".picture").first.locator(".legend li .mm")
    shown = [numbers(each)[0] for each in legend.all_inner_texts()]
    assert len(shown) == 6
    assert shown == sorted(shown)
    choice.select_option("class")
    assert np.abs(picture(page) - before).mean() < 1.0


@pytest.mark.parametrize("name", PARTS)
def test_pages_are_small(corpora: Path, name: str) -> None:
    """At most 1.5 MB for up to 200 faces."""
    html, document = made(corpora / "real" / name)
    assert sum(len(body["faces"]) for body in document["bodies"]) <= 200
    assert len(html.encode()) <= 1_500_000
