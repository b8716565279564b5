import io
from collections.abc import Iterator
from itertools import combinations

import numpy as np
import pytest
from PIL import Image
from playwright.sync_api import Page

from analyzers.report.as_html import to_html
from tests.report import _builders as build
from tests.report._chromium import LIVE_MS, at_rest, needs_chromium, needs_viewer, opened
from tests.report.test_callouts import cross

pytestmark = [needs_chromium, needs_viewer]


@pytest.fixture(name="page")
def _page(open_page: Page) -> Page:
    """Return the open report as one finds it: at the top, the viewer in its place, no face marked."""
    if open_page.locator(".undock").count():
        open_page.click(".undock")
    open_page.evaluate("scrollTo(0, 0)")
    for colours in ("setup", "class"):  # another colouring takes the marks away
        open_page.select_option("select.by", colours)
    assert marked(open_page) == []
    return open_page


@pytest.fixture(name="open_page", scope="module")
def _open_page(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Page]:
    """Open one report with its viewer running."""
    file = tmp_path_factory.mktemp("viewer") / "report.html"
    file.write_text(to_html(build.with_many_features()), encoding="utf-8")
    with opened(file, webgl=True) as (page, wrong):
        page.wait_for_selector("figure.live", timeout=LIVE_MS)
        yield page
        assert wrong == []


def click_middle(page: Page) -> None:
    """Click near the middle of the canvas, beside the pins that may stand there."""
    box = page.locator(".stage canvas").bounding_box()
    assert box
    page.mouse.click(box["x"] + box["width"] * 0.53, box["y"] + box["height"] * 0.55)


def marked(page: Page) -> list[int]:
    """Return the faces that the viewer says it has marked."""
    text = page.locator("figure.live").get_attribute("data-marked") or ""
    return [int(each) for each in text.split()]


def pink_share(page: Page) -> float:
    """Return the share of the canvas that shows the colour of marked faces."""
    at_rest(page)
    page.evaluate("document.querySelector('.labels').hidden = true")
    image = Image.open(io.BytesIO(page.locator(".stage canvas").screenshot())).convert("RGB")
    red, green, blue = np.moveaxis(np.asarray(image).astype(int), 2, 0)
    return float(np.mean((red - green > 60) & (blue - green > 20)))


@pytest.mark.parametrize(
    ("view", "face"), [("Front", 2), ("Back", 3), ("Left", 0), ("Right", 1), ("Top", 5), ("Bottom", 4)]
)
def test_pick_names_the_face_that_is_there(page: Page, view: str, face: int) -> None:
    """From each side a click in the middle finds that side's face, by its index in the B-rep."""
    page.click(f".tools button:has-text('{view}')")
    at_rest(page)
    click_middle(page)
    assert page.locator("figure.live").get_attribute("data-picked") == str(face)
    assert f"Face {face}" in page.locator(".says").inner_text()


def test_pick_tells_the_feature_and_its_numbers(page: Page) -> None:
    """The top face belongs to the pocket F5: its callout, setup and finding are named."""
    page.click(".tools button:has-text('Top')")
    at_rest(page)
    click_middle(page)
    said = page.locator(".says").inner_text()
    for word in ("closed pocket F5", "30 × 20 ↧12 R4", "corner radius 4 mm", "Error 1"):
        assert word in said


@pytest.mark.parametrize(("number", "faces"), [(1, [5]), (2, [build.HOLE_FACE]), (3, [0])])
def test_finding_marks_its_faces_and_goes_there(page: Page, number: int, faces: list[int]) -> None:
    """A click on a finding marks exactly its faces, and they can be seen."""
    page.click(f"#B1-finding-{number} button.show")
    assert marked(page) == faces
    assert pink_share(page) > 0.003


def test_hole_row_marks_all_its_holes(page: Page) -> None:
    """The row of two equal holes marks the faces of both."""
    page.locator("#B1-holes tr", has_text="⌀12 THRU").locator("button.show").click()
    assert set(marked(page)) == {build.HOLE_FACE}
    assert pink_share(page) > 0.003


def test_viewer_follows_into_the_corner(page: Page) -> None:
    """Shown from far down the page, the viewer comes along and leaves when closed."""
    button = page.locator("#B1-setups button.show").first
    button.scroll_into_view_if_needed()
    button.click()
    box = page.locator(".stage canvas").bounding_box()
    assert box
    assert 0 <= box["y"] < 900
    if page.locator(".undock").count():
        page.click(".undock")
    assert page.locator("figure.docked").count() == 0


def test_section_opens_the_part(page: Page) -> None:
    """Cut in the middle and seen from the side that is gone, one looks at the inside."""
    page.click(".tools button:has-text('Right')")
    at_rest(page)
    before = page.locator(".stage canvas").screenshot()
    page.select_option(".tools label:has-text('Section') select", "x")
    at_rest(page)
    after = page.locator(".stage canvas").screenshot()
    page.select_option(".tools label:has-text('Section') select", "off")
    assert before != after


def test_measure_between_two_places(page: Page) -> None:
    """From above, two clicks a known number of pixels apart along x are that many millimetres apart."""
    page.click(".tools button:has-text('Top')")
    at_rest(page)
    box = page.locator(".stage canvas").bounding_box()
    assert box
    page.click(".tools button:has-text('Measure')")
    x, y = box["x"] + box["width"] * 0.53, box["y"] + box["height"] * 0.55
    page.mouse.click(x, y)
    page.mouse.click(x + 60, y)
    said = page.locator(".says").inner_text()
    page.click(".tools button:has-text('Measure')")
    shown, along_x = (float(said.split(word)[0].split()[-2]) for word in ("apart", ", y"))
    assert shown == pytest.approx(along_x, abs=0.02)
    assert 1 < shown < build.SIZE[0]


def test_keyboard_turns_the_part(page: Page) -> None:
    """With the canvas in focus an arrow key turns, and a digit chooses a view."""
    page.locator(".stage canvas").focus()
    page.keyboard.press("1")
    at_rest(page)
    front = page.locator(".stage canvas").screenshot()
    page.keyboard.press("ArrowLeft")
    at_rest(page)
    assert page.locator(".stage canvas").screenshot() != front


def test_mouse_turns_zooms_and_fit_brings_back(page: Page) -> None:
    """A drag turns the part, the wheel brings it nearer, and Fit shows it whole again as it was."""

    def shown() -> bytes:
        at_rest(page)
        return page.locator(".stage canvas").screenshot()

    page.click(".tools button:has-text('Corner')")
    corner = shown()
    box = page.locator(".stage canvas").bounding_box()
    assert box
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    page.mouse.move(x, y)
    page.mouse.wheel(0, -400)
    nearer = shown()
    assert nearer != corner
    page.click(".tools button:has-text('Fit')")
    assert shown() == corner
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + 90, y + 20, steps=4)
    page.mouse.up()
    assert shown() != corner
    page.click(".tools button:has-text('Corner')")
    assert shown() == corner


@pytest.mark.parametrize(("by", "names"), [("setup", ["S1"]), ("cutter", ["drill 12"])])
def test_colours_by_use_name_what_they_stand_for(page: Page, by: str, names: list[str]) -> None:
    """By setup and by cutter: the legend names each, one can be chosen alone, and the picture changes."""
    page.click(".tools button:has-text('Top')")
    at_rest(page)
    before = page.locator(".stage canvas").screenshot()
    page.select_option("select.by", by)
    try:
        at_rest(page)
        assert page.locator(".stage canvas").screenshot() != before
        legend = page.locator(".picture .legend").inner_text()
        options = page.locator("select.only option").all_inner_texts()
        assert options[0].startswith("all ")
        for name in names:
            assert name in legend
            assert name in options
        page.select_option("select.only", names[0])
        assert "all others" in page.locator(".picture .legend").inner_text()
    finally:
        page.select_option("select.by", "class")


@pytest.mark.parametrize("picked", [False, True], ids=["nothing-marked", "that-face-marked"])
def test_uncut_regions_of_a_cutter_are_shown(page: Page, picked: bool) -> None:
    """The 8 mm end mill leaves material beside face 5: that face is coloured, the legend says how much stands there.

    Also where the face was marked before: the marks give way to the colours asked for.
    """
    page.click(".tools button:has-text('Top')")
    at_rest(page)
    if picked:
        click_middle(page)
        assert marked(page) == [5]
        at_rest(page)
    before = page.locator(".stage canvas").screenshot()
    page.select_option("select.by", "uncut")
    assert page.locator("select.only option").all_inner_texts() == ["flat 8"]
    assert "48 mm³ in F5" in page.locator(".picture .legend").inner_text()
    at_rest(page)
    assert page.locator(".stage canvas").screenshot() != before
    page.select_option("select.by", "class")
    assert page.locator("select.only").is_hidden()


def test_tools_speak_german_too(page: Page) -> None:
    """The switch reaches buttons, lists and what the viewer says; then back."""
    page.click("label[for=lang-de]")
    try:
        tools = page.locator(".tools").inner_text()
        assert "Messen" in tools
        assert "Measure" not in tools
        assert "Wanddicke" not in page.locator("select.by").inner_text()  # this part has no thickness
        assert page.locator("select.by option").all_inner_texts()[0] == "Art der Fläche"
        page.click(".tools button:has-text('Oben')")
        at_rest(page)
        click_middle(page)
        said = page.locator(".says").inner_text()
        for word in ("Fläche 5", "Ebene", "geschlossene Tasche F5", "Eckenradius 4 mm", "Fehler 1"):
            assert word in said
    finally:
        page.click("label[for=lang-en]")
    assert page.locator("select.by option").all_inner_texts()[0] == "kind of face"


def test_leaders_do_not_cross(page: Page) -> None:
    """In each view of a part with many labels no line runs across another."""
    for view in ("Corner", "Top", "Front", "Right"):
        page.click(f".tools button:has-text('{view}')")
        at_rest(page)
        ends = page.evaluate(
            """() => Array.from(document.querySelectorAll('.labels line:not(.halo)'),
              (each) => ['x1', 'y1', 'x2', 'y2'].map((name) => Number(each.getAttribute(name))))"""
        )
        assert len(ends) >= 3
        leaders = [((x1, y1), (x2, y2)) for x1, y1, x2, y2 in ends]
        assert not any(cross(*pair) for pair in combinations(leaders, 2)), view
