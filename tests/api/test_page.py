"""The page in a real browser, over a real service and the real analysis."""

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from playwright.sync_api import expect

from tests.api.browsing import MINUTE_MS, all_ready, browser, names
from tests.api.serving import Server, serving
from tests.compare._latch import Latch
from tests.kernel._files import write_shapes
from tests.report._chromium import needs_chromium
from worker.limits import Limits
from worker.sandbox import ANALYSIS

pytestmark = [pytest.mark.chromium, needs_chromium]

PARTS = ("lid_plate", "link_bar", "drilling_sampler", "sharp_window")
NASTY = "<img src=x onerror=alert(1)>"


@pytest.fixture
def server(tmp_path: Path) -> Iterator[Server]:
    """Serve with the real analysis."""
    yield from serving(tmp_path, call=ANALYSIS, limits=Limits(seconds=60), most_bytes=10_000_000)


def test_from_dropped_files_to_report_and_comparison(server: Server, parts: Path) -> None:
    """Sent in, followed live, sorted easy to hard, sorted anew, filtered, opened, asked about, set side by side."""
    files: list[str | Path] = [parts / f"{each}.step" for each in PARTS]
    with browser(server) as page:
        page.fill("#terms [name=customer]", NASTY)
        page.set_input_files("#files", files)
        expect(page.locator("tr[data-state=running] progress").first).to_be_visible(timeout=MINUTE_MS)
        all_ready(page, 4)
        expect(page.locator("#tally")).to_have_text("4 ready")
        expect(page.locator("#line")).to_have_text("live")
        assert page.locator("td.part .sub").first.inner_text().endswith(NASTY)

        hard = {job["file_name"]: job["difficulty"] for job in server.client.get("/api/jobs").json()["jobs"]}
        assert names(page) == sorted(hard, key=lambda name: hard[name])
        page.click("th[data-sort=file_name] button")
        expect(page.locator("th[data-sort=file_name]")).to_have_attribute("aria-sort", "ascending")
        expect(page.locator("tbody td.part a").first).to_have_text("drilling_sampler.step")
        assert names(page) == sorted(hard)

        page.fill("#filters [name=name]", "LINK")
        expect(page.locator("tbody tr")).to_have_count(1)
        expect(page.locator("#csv")).to_have_attribute(
            "href", "/api/export?form=csv&name=LINK&sort=file_name&falling=false"
        )
        page.click("#filters button[type=reset]")
        expect(page.locator("tbody tr")).to_have_count(4)

        row = page.locator("tr", has_text="drilling_sampler.step")
        row.get_by_role("button", name="questions about").click()
        expect(page.locator("#said")).to_contain_text("copied")
        copied = page.evaluate("navigator.clipboard.readText()")
        assert len(copied.splitlines()) == int(row.get_by_role("button", name="questions about").inner_text())

        row.locator("input").check()
        page.locator("tr", has_text="lid_plate.step").locator("input").check()
        page.click("#compare")
        expect(page.locator("h1")).to_have_text("Two side by side")
        assert page.locator("tr.differs").count() >= 3
        page.click("text=Show them beside each other")
        for side in page.locator(".pair iframe").all():
            expect(side.content_frame.locator("h1").first).to_be_visible(timeout=MINUTE_MS)
        page.click("text=Back to the list")
        page.click("text=sharp_window.step")
        expect(page.locator("main")).to_contain_text("sharp", timeout=MINUTE_MS)


def test_two_revisions_side_by_side(server: Server, tmp_path: Path) -> None:
    """The one wider hole is marked in both pictures and told; the comparison needs no scroll bar of its own.

    Both revisions have one file name, as they mostly do.
    """
    for revision, latch in (("old", Latch()), ("new", replace(Latch(), dowel=8.0))):
        (tmp_path / revision).mkdir()
        write_shapes([latch.work().shape], tmp_path / revision / "latch.step")
    with browser(server) as page:
        for number, revision in enumerate(("old", "new"), start=1):
            page.set_input_files("#files", tmp_path / revision / "latch.step")
            all_ready(page, number)
        page.click("#all")
        page.click("#compare")
        changed = page.frame_locator("#changed")
        expect(changed.locator("h1")).to_have_text("1 feature differs.", timeout=MINUTE_MS)
        expect(changed.locator("table.difference")).to_contain_text("diameter 6 → 8 mm")
        pictures = changed.locator(".revisions").first.locator("figure")
        left, right = (pictures.nth(each).bounding_box() for each in (0, 1))
        assert left
        assert right
        assert left["y"] == right["y"]
        assert left["x"] + left["width"] <= right["x"]
        assert [pictures.nth(each).locator(".mark-number").first.text_content() for each in (0, 1)] == ["1", "1"]
        frame = "document.getElementById('changed')"
        inside = f"{frame}.contentDocument.documentElement"
        page.wait_for_function(f"{frame}.clientHeight >= {inside}.scrollHeight")
        assert page.evaluate("document.documentElement.scrollWidth <= document.documentElement.clientWidth")


def test_another_shop_judges_again(server: Server, parts: Path) -> None:
    """Chosen parts are judged by a shop that was sent in; the first judgement stays beside the second."""
    other = Path(__file__).parents[2] / "fixtures" / "shops" / "job_shop_mm.toml"
    assert server.client.put("/api/settings/shop/second", content=other.read_bytes()).status_code == 200
    with browser(server) as page:
        page.set_input_files("#files", parts / "lid_plate.step")
        all_ready(page, 1)
        page.select_option("#again-shop", "second")
        page.locator("tbody input").check()
        page.click("#again")
        all_ready(page, 2)
        page.click("#all")
        page.click("#compare")
        expect(page.locator("main")).to_contain_text("judged by different settings")
        expect(page.frame_locator("#changed").locator("h1")).to_have_text("Same geometry.", timeout=MINUTE_MS)
        page.click("text=Back to the list")
        all_ready(page, 2)
        page.click("#all")
        page.click("#strike")
        expect(page.locator("tbody tr")).to_have_count(0)
        expect(page.locator("#empty")).to_be_visible()


def test_the_keyboard_is_enough(server: Server, parts: Path) -> None:
    """A slash leads to the name, arrows from part to part, Enter opens the report."""
    with browser(server) as page:
        page.set_input_files("#files", [parts / "lid_plate.step", parts / "link_bar.step"])
        all_ready(page, 2)
        page.keyboard.press("/")
        assert page.evaluate("document.activeElement.name") == "name"
        page.locator("tbody td.part a").first.focus()
        page.keyboard.press("ArrowDown")
        second = page.evaluate("document.activeElement.textContent")
        assert second == names(page)[1]
        page.keyboard.press("Enter")
        expect(page.locator("main")).to_be_visible(timeout=MINUTE_MS)
        assert "/report?form=html" in page.url


def test_a_file_that_is_refused_says_why(server: Server, tmp_path: Path) -> None:
    """The reason stands beside its name; nothing is entered."""
    with browser(server, expected="422") as page:
        page.fill("#terms [name=material]", "unobtainium")
        (tmp_path / "a.step").write_text("no model")
        page.set_input_files("#files", tmp_path / "a.step")
        expect(page.locator("#sending .bad")).to_contain_text("unobtainium")
        expect(page.locator("tbody tr")).to_have_count(0)
