"""What an estimator with a pile does with the list: narrow it, order it, take it along, read it on a tablet and paper.

What each filter and order should show is worked out here from the jobs as the interface gives them.
"""

import csv
import datetime
import shutil
import subprocess
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page, expect

from tests.api.browsing import MINUTE_MS, OFFICE, TABLET, browser, names
from tests.api.serving import Server, serving
from tests.report._chromium import needs_chromium
from worker.limits import Limits
from worker.sandbox import ANALYSIS

pytestmark = [pytest.mark.chromium, needs_chromium]

Job = dict[str, Any]
BUCKETS = ["routine", "involved", "demanding", "not_as_modelled"]
STEEL = "1.4301"
TODAY = datetime.date.today()  # as the page reckons what is late, give or take a day
PARTS: dict[str, dict[str, Any]] = {
    "lid_plate": {"due": str(TODAY + datetime.timedelta(days=30)), "customer": "RFQ 7"},
    "link_bar": {"due": str(TODAY - datetime.timedelta(days=30)), "quantity": 20},
    "rounded_housing": {"material": STEEL},
    "spindle": {"due": str(TODAY + datetime.timedelta(days=3)), "material": STEEL},
    "thin_tray": {},
    "sharp_window": {"due": str(TODAY + datetime.timedelta(days=60))},
}
ROWS = "document.getElementById('rows')"
SOON = str(TODAY + datetime.timedelta(days=10))


@pytest.fixture(scope="module")
def server(parts: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    """Serve a pile that is done, for tests that only look at it."""
    folder = tmp_path_factory.mktemp("service")
    for made in serving(folder, call=ANALYSIS, limits=Limits(seconds=60), most_bytes=10_000_000):
        for name, terms in PARTS.items():
            query = {"file_name": f"{name}.step", **terms}
            made.client.post("/api/jobs", params=query, content=(parts / f"{name}.step").read_bytes())
        for job in made.client.get("/api/jobs").json()["jobs"]:
            assert made.ended(job["id"])["state"] == "done"
        yield made


@pytest.fixture(scope="module")
def pile(server: Server) -> list[Job]:
    """Return the jobs, easy to hard."""
    found: list[Job] = server.client.get("/api/jobs", params={"sort": "difficulty"}).json()["jobs"]
    assert len(found) == len(PARTS)
    return found


def shown(page: Page, jobs: list[Job]) -> None:
    """Wait until the list shows these jobs and no others, in this order."""
    expect(page.locator("tbody td.part > :first-child")).to_have_text([each["file_name"] for each in jobs])


@pytest.mark.parametrize(
    ("field", "value", "fits"),
    [
        ("bucket", "routine", lambda job: job["bucket"] == "routine"),
        ("material", None, lambda job: job["material"] == STEEL),
        ("max_setups", "1", lambda job: job["setups"] <= 1),
        ("max_internal_radius_mm", "3.5", lambda job: (job["min_internal_radius_mm"] or 99) <= 3.5),
        ("due_until", SOON, lambda job: job["due"] is not None and job["due"] <= SOON),
    ],
)
def test_each_filter_narrows_the_list(
    field: str, value: str | None, fits: Callable[[Job], bool], server: Server, pile: list[Job]
) -> None:
    """To what the jobs themselves say; "Show all" brings the others back."""
    wanted = [each for each in pile if fits(each)]
    assert 0 < len(wanted) < len(pile), "the pile does not tell this filter from none"
    with browser(server) as page:
        control = page.locator(f"#filters [name={field}]")
        shown(page, pile)
        if control.evaluate("each => each.tagName") == "SELECT":
            control.select_option(value or wanted[0]["material_used"])
        else:
            control.fill(value or "")
        shown(page, wanted)
        page.get_by_role("button", name="Show all").click()
        shown(page, pile)


@pytest.mark.parametrize("key", ["bucket", "material_used", "setups", "min_internal_radius_mm", "due", "minutes"])
def test_each_heading_orders_the_list(key: str, server: Server, pile: list[Job]) -> None:
    """Rising, then falling; parts without a value come last in both; also with the keyboard alone, and back again."""

    def value(job: Job) -> Any:
        return (BUCKETS.index(job["bucket"]), job["difficulty"]) if key == "bucket" else job[key]

    jobs = sorted(pile, key=lambda job: job["number"])
    there = [each for each in jobs if value(each) is not None]
    missing = [each for each in jobs if value(each) is None]
    assert len({value(each) for each in there}) > 1, "the pile does not tell this order from another"
    rising = sorted(there, key=value) + missing
    falling = sorted(there, key=value)[::-1] + missing[::-1]
    with browser(server) as page:
        head = page.locator(f"th[data-sort={key}]")
        shown(page, pile)
        head.get_by_role("button").click()
        shown(page, rising)
        expect(head).to_have_attribute("aria-sort", "ascending")
        head.get_by_role("button").focus()
        page.keyboard.press("Enter")
        shown(page, falling)
        expect(head).to_have_attribute("aria-sort", "descending")
        page.get_by_role("button", name="Easy to hard").click()
        shown(page, pile)


def test_each_row_says_what_an_estimator_asks(server: Server, pile: list[Job]) -> None:
    """Drawing, size, material, pieces, bucket, minutes, setups, radius, questions, due date and whether it is late."""
    with browser(server) as page:
        shown(page, pile)
        pictures = page.locator("tbody td.picture img")
        expect(pictures).to_have_count(len(pile))
        for picture in pictures.all():
            picture.scroll_into_view_if_needed()
            expect(picture).to_have_js_property("complete", True)
            assert picture.evaluate("each => each.naturalWidth") > 0
        bar = next(each for each in pile if each["file_name"] == "link_bar.step")
        row = page.locator("tr", has_text="link_bar.step")
        size = " × ".join(f"{each:g}" for each in bar["summary"]["size_mm"])
        told = {
            "size": size,
            "material": f"{bar['material_used']}20 pieces",
            "time": f"{bar['minutes']:.0f} min",
            "setups": str(bar["setups"]),
            "radius": f"{bar['min_internal_radius_mm']:g}",
            "ask": str(bar["questions"]),
            "due": bar["due"],
        }
        for name, text in told.items():
            expect(row.locator(f"td.{name}")).to_have_text(text)
        expect(row.locator(".bucket")).to_have_text("Routine")
        expect(row.locator("td.due")).to_have_class("due late")
        expect(page.locator("td.late")).to_have_count(1)


def test_the_list_is_taken_along_as_it_is_shown(server: Server, pile: list[Job]) -> None:
    """As CSV and as a workbook: the parts that the filter leaves, in the order that was chosen."""
    with browser(server) as page:
        page.locator("#filters [name=due_until]").fill(SOON)
        page.locator("th[data-sort=due] button").click()
        due = [each for each in pile if each["due"] is not None and each["due"] <= SOON]
        wanted = sorted(due, key=lambda job: str(job["due"]))
        shown(page, wanted)
        files = [each["file_name"] for each in wanted]
        with page.expect_download() as loading:
            page.get_by_role("link", name="List as CSV").click()
        with loading.value.path().open(encoding="utf-8-sig", newline="") as file:
            assert [row["file"] for row in csv.DictReader(file)] == files
        with page.expect_download() as loading:
            page.get_by_role("link", name="List as spreadsheet").click()
        assert loading.value.suggested_filename == "parts.xlsx"
        shutil.copy(loading.value.path(), path := loading.value.path().with_suffix(".xlsx"))
        head, *rows = openpyxl.load_workbook(path).worksheets[0].iter_rows(values_only=True)
        place = head.index("file")
        assert [row[place] for row in rows if row[place]][: len(files)] == files


def test_whoever_comes_back_sees_the_same_list(server: Server, pile: list[Job]) -> None:
    """Filter and order stand in the address: after a look at a report, and on another machine."""
    with browser(server) as page:
        page.locator("#filters [name=material]").select_option(label=_steel(pile))
        page.locator("th[data-sort=minutes] button").click()
        page.locator("th[data-sort=minutes] button").click()
        steel = [each for each in pile if each["material"] == STEEL]
        wanted = sorted(steel, key=lambda job: float(job["minutes"]), reverse=True)
        shown(page, wanted)
        address = page.url
        page.locator("tbody td.part a").first.click()
        expect(page.locator("main")).to_be_visible(timeout=MINUTE_MS)
        page.go_back()
        shown(page, wanted)
        page.goto("about:blank")
        page.goto(address)
        shown(page, wanted)
        assert page.locator("#filters [name=material]").input_value() == _steel(pile)


def _steel(pile: list[Job]) -> str:
    return next(str(each["material_used"]) for each in pile if each["material"] == STEEL)


def test_the_questions_of_several_are_copied_under_their_names(server: Server, pile: list[Job]) -> None:
    """Ready to be sent: each part's name, then what to ask about it."""
    with browser(server) as page:
        shown(page, pile)
        page.locator("#all").check()
        page.get_by_role("button", name="Copy questions").click()
        expect(page.locator("#said")).to_contain_text("copied")
        copied = page.evaluate("navigator.clipboard.readText()").splitlines()
    assert [line for line in copied if line.endswith(".step")] == [each["file_name"] for each in pile]
    asked = sum(each["questions"] for each in pile)
    assert len([line for line in copied if line and not line.endswith(".step")]) == asked


def test_a_tablet_shows_all_of_it(server: Server, pile: list[Job]) -> None:
    """768 by 1024, by touch: nothing is off the side, what is tapped is large enough, a tap opens the report."""
    with browser(server, **TABLET) as page:
        shown(page, pile)
        row = page.locator("tr", has_text="link_bar.step")
        for name in (
            "picture",
            "part",
            "size",
            "material",
            "sorted",
            "time",
            "setups",
            "radius",
            "ask",
            "due",
            "stage",
        ):
            box = row.locator(f"td.{name}").bounding_box()
            assert box
            assert box["x"] >= 0, name
            assert box["x"] + box["width"] <= 768, name
            assert box["height"] > 10, name
        for frame in ("document.documentElement", "document.querySelector('.scroll')"):
            assert page.evaluate(f"{frame}.scrollWidth <= {frame}.clientWidth")
        expect(row.locator("td.setups")).to_have_text("1")
        page.get_by_text("Show only some").tap()
        page.locator("#filters [name=max_setups]").fill("1")
        shown(page, [each for each in pile if each["setups"] <= 1])
        for control in page.locator("#list :is(button, select, summary, .tools a, td.part > a):visible").all():
            box = control.bounding_box()
            assert box
            assert box["height"] >= (35 if control.locator("xpath=ancestor::thead").count() else 44), (
                control.inner_text()
            )
        row.locator("td.part a").first.tap()
        expect(page.locator("main")).to_be_visible(timeout=MINUTE_MS)


def test_turning_the_tablet_brings_the_columns(server: Server, pile: list[Job]) -> None:
    """And what was folded away is there, for its handle is not."""
    with browser(server, **TABLET) as page:
        shown(page, pile)
        expect(page.locator("#filters")).to_be_hidden()
        page.set_viewport_size({"width": 1024, "height": 768})
        expect(page.locator("#filters")).to_be_visible()
        expect(page.get_by_text("Show only some")).to_be_hidden()
        expect(page.get_by_role("columnheader", name="Size, mm")).to_be_visible()


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("screen", [OFFICE, TABLET], ids=["office", "tablet"])
def test_it_can_be_read_in_light_and_dark(screen: dict[str, Any], scheme: str, server: Server, pile: list[Job]) -> None:
    """Contrasts, names and roles by axe's rules for WCAG 2.2 AA; the ground is as light or dark as was asked for."""
    rules = {"runOnly": {"type": "tag", "values": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]}}
    with browser(server, **screen, color_scheme=scheme, bypass_csp=True) as page:
        shown(page, pile)
        found: dict[str, Any] = Axe().run(page, options=rules).response
        ground = page.evaluate("getComputedStyle(document.body).backgroundColor")
    lightness = sum(int(each) for each in ground.removeprefix("rgb(").rstrip(")").split(",")) / 3
    assert (lightness > 200, lightness < 60) == (scheme == "light", scheme == "dark")
    assert len(found["passes"]) > 10, "axe did not run"
    told = [f"{each['id']}: {node['html'][:160]}" for each in found["violations"] for node in each["nodes"]]
    assert told == []


def test_on_paper_there_is_the_list_and_nothing_to_press(server: Server, pile: list[Job], tmp_path: Path) -> None:
    """Black on white even from a dark screen; no controls; all columns fit a sheet; each sheet names them."""
    with browser(server, color_scheme="dark") as page:
        shown(page, pile)
        page.emulate_media(media="print")
        page.set_viewport_size({"width": 1047, "height": 720})  # A4 across, less its margins, at 96 to the inch
        for away in ("#drop", "#filters", ".tools", ".tick", "summary", "#line", "#easy"):
            assert not any(each.is_visible() for each in page.locator(away).all()), away
        expect(page.locator(".caution")).to_be_visible()
        expect(page.locator("tbody tr")).to_have_count(len(pile))
        assert page.evaluate("document.documentElement.scrollWidth <= document.documentElement.clientWidth")
        assert page.evaluate("getComputedStyle(document.body).backgroundColor") == "rgb(255, 255, 255)"
        page.evaluate(
            f"{ROWS}.append(...[1, 2, 3].flatMap(() => [...{ROWS}.children].map((row) => row.cloneNode(true))))"
        )
        page.pdf(path=tmp_path / "list.pdf", prefer_css_page_size=True)
    if shutil.which("pdftotext") is None:
        pytest.skip("NO PDFTOTEXT (Debian: poppler-utils): that each sheet repeats the headings is not tested")
    text = subprocess.run(
        ["pdftotext", "-layout", tmp_path / "list.pdf", "-"], capture_output=True, text=True, check=True
    )
    sheets = [each for each in text.stdout.split("\f") if each.strip()]
    assert len(sheets) > 1
    assert all("Setups" in each and "Stage" in each for each in sheets)


def test_many_files_are_dropped_at_once(tmp_path: Path) -> None:
    """A dozen onto the page, wherever: each arrives, none twice, and its row comes by itself."""
    for server in serving(tmp_path):
        with browser(server) as page:
            transfer = page.evaluate_handle(
                """() => {
                  const pile = new DataTransfer();
                  for (let i = 0; i < 12; i++) pile.items.add(new File([`fine ${i}`], `part ${i}.step`));
                  return pile;
                }"""
            )
            page.dispatch_event("body", "dragover", {"dataTransfer": transfer})
            expect(page.locator("body")).to_have_class("over")
            page.dispatch_event("#list", "drop", {"dataTransfer": transfer})
            expect(page.locator("tr[data-state=done]")).to_have_count(12, timeout=MINUTE_MS)
            expect(page.locator("#tally")).to_have_text("12 ready")
            assert sorted(names(page)) == sorted(f"part {number}.step" for number in range(12))
