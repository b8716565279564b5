"""The batch page: order, totals, families, filters in a real browser."""

import re
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from OCP.STEPControl import STEPControl_StepModelType, STEPControl_Writer

from analyzers.kernel.step_file import load
from analyzers.pipeline import analyse
from analyzers.report.as_json import to_json
from analyzers.report.as_overview import Entry, to_overview
from analyzers.report.kinship import Kin, kinship
from analyzers.settings import load_settings
from tests.api.command import partsieve
from tests.kernel._solids import mirrored_in, moved, scaled_by
from tests.report import _builders as build
from tests.report._chromium import needs_chromium, opened

PARTS = Path(__file__).parents[2] / "fixtures" / "parts"
SETTINGS = load_settings(None, None, None, 1)


@cache
def document(path: Path) -> dict[str, Any]:
    """Return the report of a file."""
    return to_json(analyse(path, SETTINGS))


def entries(*documents: dict[str, Any]) -> list[Entry]:
    """Return them as reports that lie in folders."""
    return [Entry(each, f"a b {at}/report.html", f"a b {at}/thumbnail.svg") for at, each in enumerate(documents)]


def test_a_part_written_as_splines_is_the_same_part() -> None:
    """Another file of the same shape is found, an unlike part is not."""
    found = kinship([document(PARTS / f"{name}.step") for name in ("press_bed", "press_bed_splines", "oil_manifold")])
    assert found[0] is None
    assert found[1] is not None
    assert (found[1].of, found[1].kind) == (0, "same")
    assert found[2] is None


def test_the_same_bytes_are_the_same_file() -> None:
    """A copy under another name needs no geometry."""
    one = document(PARTS / "lid_plate.step")
    other = {**one, "source": {**one["source"], "file_name": "copy.step"}}
    assert kinship([one, other])[1] == Kin(0, "same_file")


def test_a_mirror_image_is_told_from_a_copy(tmp_path: Path) -> None:
    """Left and right hand are two parts, but kin."""
    solid = moved(load(PARTS / "press_bed.step").solids[0].shape, mirrored_in((1.0, 0.0, 0.0)))
    writer = STEPControl_Writer()
    writer.Transfer(solid, STEPControl_StepModelType.STEPControl_AsIs)
    writer.Write(str(tmp_path / "left.step"))
    left, right = document(tmp_path / "left.step"), document(PARTS / "press_bed.step")
    kin = kinship([right, left])[1]
    assert kin is not None
    assert kin.kind == "mirrored"
    assert kinship([document(PARTS / "spout.step"), left])[1] is None


def test_nearly_the_same_part_stands_below_the_one_it_is_like(tmp_path: Path) -> None:
    """A part one per cent larger is nearly the same, is said to be so, and comes directly after; another does not."""
    shape = moved(load(PARTS / "press_bed.step").solids[0].shape, scaled_by(1.01))
    writer = STEPControl_Writer()
    writer.Transfer(shape, STEPControl_StepModelType.STEPControl_AsIs)
    writer.Write(str(tmp_path / "larger.step"))
    paths = (PARTS / "press_bed.step", PARTS / "oil_manifold.step", tmp_path / "larger.step")
    found = [document(path) for path in paths]
    kin = kinship(found)
    assert kin[1] is None
    assert kin[2] is not None
    assert (kin[2].of, kin[2].kind) == (0, "near")
    assert kin[2].apart == pytest.approx(0.01, rel=0.5)
    page = to_overview(entries(*found), "batch")
    shown = names(page)
    assert abs(shown.index("press_bed.step") - shown.index("larger.step")) == 1
    assert "nearly the same as (" in page


def names(page: str) -> list[str]:
    """Return the models of a page from top to bottom."""
    return re.findall(r'<th scope="row"><a[^>]*>([^<]*)</a>', page)


def test_hardest_first_and_twins_below_their_first() -> None:
    """Unreadable, then by bucket and difficulty; the splines copy comes directly after its twin."""
    found = [
        document(PARTS / f"{name}.step") for name in ("press_bed", "floor_plate", "oil_manifold", "press_bed_splines")
    ]
    page = to_overview(entries(*found, to_json(build.unreadable())), "batch")
    shown = names(page)
    assert shown[:2] == ["clamp_plate.step", "floor_plate.step"]
    twins = [shown.index(f"{each}.step") for each in ("press_bed", "press_bed_splines")]
    assert abs(twins[0] - twins[1]) == 1
    assert "the same part as" in page


def test_totals_are_those_of_the_documents() -> None:
    """Pieces, questions and minutes of all copies of all bodies."""
    found = [document(PARTS / f"{name}.step") for name in ("press_assembly", "oil_manifold")]
    page = to_overview(entries(*found), "batch")
    english = re.sub(r'<span class="de".*?</span>|<span class="en" lang="en">|</span>', "", page)
    totals = dict(re.findall(r"<dt>([^<]*)</dt><dd>([^<]*)</dd>", english))
    bodies = [body for each in found for body in each["bodies"]]
    assert int(totals["Pieces"]) == sum(body["count"] for body in bodies) > len(bodies)
    assert int(totals["Questions"]) == sum(len(body["questions"]) for body in bodies)
    minutes = sum(body["count"] * body["triage"]["machining_minutes"]["likely"] for body in bodies)
    hours, rest = divmod(round(minutes), 60)
    assert totals["Machining, likely, without setting up"] == (f"{hours} h {rest} min" if hours else f"{rest} min")


def test_names_from_outside_stay_text() -> None:
    """A file called like markup, in a folder with a space, neither breaks the page nor its links."""
    odd = to_json(build.report())
    odd["source"]["file_name"] = '"><script>alert(1)</script>\u202e.step'
    page = to_overview(entries(odd), "<b>batch")
    assert "<script>alert" not in page
    assert "<b>batch" not in page
    assert "\u202e" not in page
    assert 'href="a%20b%200/report.html"' in page


@needs_chromium
def test_filters_and_order_in_a_browser(tmp_path: Path) -> None:
    """The command writes the page; names, buckets and twins filter it; pictures load; links lead to reports."""
    wanted = [PARTS / f"{name}.step" for name in ("press_bed", "press_bed_splines", "sharp_window", "lid_plate")]
    done = partsieve("check", *wanted, "--out", tmp_path / "out", "--quiet", cwd=tmp_path)
    assert done.returncode in (0, 1), done.stderr
    with opened(tmp_path / "out" / "index.html") as (page, wrong):
        rows = page.locator("table.batch tbody tr:visible")
        assert rows.count() == 4
        assert page.evaluate("Array.from(document.images).every((each) => each.complete && each.naturalWidth > 0)")
        page.check("input[name=once]")
        assert rows.count() == 3
        page.fill("input[name=name]", "PRESS")
        assert [each[:9] for each in rows.locator("th").all_inner_texts()] == ["press_bed"]  # one of the twins
        page.fill("input[name=name]", "no such part")
        assert page.locator(".nothing").is_visible()
        page.fill("input[name=name]", "")
        page.uncheck("input[value=not_as_modelled]")
        assert "sharp_window.step" not in " ".join(rows.locator("th").all_inner_texts())
        page.check("input[value=not_as_modelled]")
        page.select_option("select[name=order]", "name")
        shown = [each.split("\n")[0] for each in rows.locator("th").all_inner_texts()]
        assert shown == sorted(shown)
        page.click("text=lid_plate.step")
        page.wait_for_selector("h1")
        assert page.url.endswith("/lid_plate/report.html")
        assert wrong == []


@needs_chromium
@pytest.mark.parametrize(("width", "height"), [(1400, 900), (820, 1100), (390, 800)], ids=["desk", "tablet", "phone"])
def test_bucket_and_reason_need_no_scrolling_sideways(tmp_path: Path, width: int, height: int) -> None:
    """Name, bucket and reason of each model stand inside the window, in both themes and on paper as well."""
    file = tmp_path / "index.html"
    found = [document(PARTS / f"{name}.step") for name in ("sharp_window", "thin_tray", "oil_manifold")]
    file.write_text(to_overview(entries(*found), "batch"), encoding="utf-8")
    with opened(file, width=width, height=height) as (page, _):
        for theme in ("light", "dark"):
            page.click(f"label[for=theme-{theme}]")
            assert page.evaluate("document.documentElement.scrollWidth") <= width
            for each in page.locator(".batch tbody th").all():
                for part in ("a >> nth=0", ".bucket", ".why-line"):
                    box = each.locator(part).bounding_box()
                    assert box
                    assert box["x"] >= 0
                    assert box["x"] + box["width"] <= width, part
        page.emulate_media(media="print")
        assert not page.locator("form.filters").is_visible()
        torn = "Array.from(document.querySelectorAll('.batch .bucket'), (each) => each.getClientRects().length)"
        heights = page.evaluate(torn)
        assert set(heights) == {1}, "a bucket's name is torn apart"


@pytest.mark.parametrize("count", [0, 1])
def test_one_report_needs_no_overview(tmp_path: Path, count: int) -> None:
    """A single model has its own page only; without pages there is none either."""
    extra = ["--no-html"] if count == 0 else []
    partsieve("check", PARTS / "lid_plate.step", *extra, "--out", tmp_path, "--quiet", cwd=tmp_path)
    assert not (tmp_path / "index.html").exists()
