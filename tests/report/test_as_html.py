import base64
import hashlib
import json
import re
import sys
from collections.abc import Callable
from dataclasses import replace
from html.parser import HTMLParser
from pathlib import Path

import pytest
from jinja2 import DictLoader, Environment
from playwright.sync_api import expect

from analyzers.model.measure import ThinPlace
from analyzers.model.report import Report
from analyzers.model.source import Problem
from analyzers.report.as_html import _Compiled, to_html
from analyzers.report.cautions import CAUTIONS
from analyzers.report.page import body_view
from tests.report import _builders as build
from tests.report._chromium import needs_chromium, needs_viewer, opened
from tests.report._english import english

HOSTILE = "\"'><script>alert(1)</script><img src=x onerror=alert(2)>{{7*7}}\u202egnp"
TIMED_OUT = Problem("measure", "Stopped after 60 seconds.", None)
SHAPES = [
    pytest.param(build.report, id="one-hole"),
    pytest.param(build.with_many_features, id="many-features"),
    pytest.param(build.unreadable, id="unreadable"),
    pytest.param(lambda: build.report(build.body(1), build.body(2, build.plate("Lid", count=4))), id="two-bodies"),
    pytest.param(lambda: build.report(status="partial", bodies=(), problems=(TIMED_OUT,)), id="nothing-but-a-problem"),
]


def hostile() -> Report:
    """Return a report in which every text that a file or a settings file can carry is an attack."""
    part = build.plate(HOSTILE)
    facts = build.facts(part)
    facts = replace(
        facts,
        features=(build.hole(why=HOSTILE),),
        made_by=replace(facts.made_by, why=HOSTILE),
        measures=(),
    )
    body = build.body(
        facts=facts,
        findings=(build.finding(message=HOSTILE, suggestion=HOSTILE, effect=HOSTILE, basis=HOSTILE, unit=HOSTILE),),
        questions=(HOSTILE,),
    )
    plan = replace(
        body.plan, machine=HOSTILE, assumptions=(HOSTILE,), tools=(replace(body.plan.tools[0], cutter=HOSTILE),)
    )
    plan = replace(plan, setups=(replace(plan.setups[0], why=HOSTILE),))
    triage = replace(
        body.triage, summary=HOSTILE, drivers=(replace(body.triage.drivers[0], name=HOSTILE, why=HOSTILE),)
    )
    plain = build.report(replace(body, plan=plan, triage=triage), problems=(Problem(HOSTILE, HOSTILE, None),))
    source = replace(
        plain.source,
        file_name=HOSTILE,
        step_schema=HOSTILE,
        length_unit=HOSTILE,
        originating_system=HOSTILE,
        product_name=HOSTILE,
        time_stamp=HOSTILE,
    )
    return replace(plain, source=source, settings=replace(plain.settings, shop=HOSTILE, material=HOSTILE))


class Tags(HTMLParser):
    """Collects the elements with their attributes, and the text outside style and script."""

    def __init__(self) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.words: list[str] = []
        self._code = False

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Note the element."""
        self.tags.append((tag, dict(attrs)))
        self._code = tag in ("style", "script")

    def handle_endtag(self, tag: str) -> None:
        """Note that code has ended."""
        if tag in ("style", "script"):
            self._code = False

    def handle_data(self, data: str) -> None:
        """Note text that a reader sees."""
        if not self._code:
            self.words.append(data)


def parsed(html: str) -> Tags:
    """Return the elements and words of a page."""
    tags = Tags()
    tags.feed(html)
    return tags


@pytest.mark.parametrize("make", SHAPES)
def test_page_carries_everything_itself(make: Callable[[], Report]) -> None:
    """No address outside the file, no inline handler or style that the policy would have to allow."""
    for tag, attributes in parsed(to_html(make())).tags:
        assert not [name for name in attributes if name.startswith("on") or name == "style"], (tag, attributes)
        for name in ("src", "href", "action", "data", "srcset"):
            target = attributes.get(name) or "#"
            assert target.startswith(("#", "data:image/png;base64,")), (tag, name, target[:80])


def test_nothing_from_outside_becomes_markup() -> None:
    """Names, messages and settings that carry tags, quotes, template code or direction marks show as text."""
    html = to_html(hostile())
    tags = parsed(html)
    own = {None, "application/json", "application/octet-stream"}
    assert {attributes.get("type") for tag, attributes in tags.tags if tag == "script"} <= own
    assert "alert(1)" in " ".join(tags.words)
    own_images = "data:image/png;base64,"
    assert all(str(attributes.get("src")).startswith(own_images) for tag, attributes in tags.tags if tag == "img")
    assert "{{7*7}}" in " ".join(tags.words)
    assert "\u202e" not in html
    assert "⟨U+202E⟩" in " ".join(tags.words)


def test_policy_names_the_style_and_the_script() -> None:
    """The content security policy forbids everything and names the hash of each piece of code on the page."""
    html = to_html(build.report())
    policy = next(a["content"] for t, a in parsed(html).tags if a.get("http-equiv") == "Content-Security-Policy") or ""
    assert "default-src 'none'" in policy
    for kind in ("style", "script"):
        code = re.search(rf"<{kind}>(.*?)</{kind}>", html, re.DOTALL)
        assert code
        digest = base64.b64encode(hashlib.sha256(code[1].encode()).digest()).decode()
        assert f"'sha256-{digest}'" in policy


def test_every_caution_is_on_every_page() -> None:
    """Also a page about an unreadable file says what it cannot be used for."""
    for make in (build.report, build.unreadable):
        words = " ".join(parsed(to_html(make())).words)
        assert [each for each in CAUTIONS if each not in words] == []


def test_every_link_inside_the_page_has_a_target() -> None:
    """A marker, a row or a heading never leads nowhere."""
    tags = parsed(to_html(build.with_many_features())).tags
    ids = {a["id"] for _, a in tags if "id" in a}
    targets = {(a["href"] or "")[1:] for _, a in tags if (a.get("href") or "").startswith("#")}
    assert targets <= ids
    assert len(ids) == len([a for _, a in tags if "id" in a]), "an id is given twice"


def test_same_report_gives_the_same_page() -> None:
    """Nothing on the page depends on when or where it was written."""
    assert to_html(build.with_many_features()) == to_html(build.with_many_features())


def test_equal_holes_share_a_row_with_their_quantity() -> None:
    """Two holes of the same size from the same side are one row, 2x."""
    html = to_html(build.with_many_features())
    rows = re.findall(r"<tr[^>]*><th scope=\"row\">[A-Z]</th>.*?</tr>", html, re.DOTALL)
    holes = [row for row in rows if "⌀12 THRU" in row]
    assert len(holes) == 1
    assert "2×" in holes[0]


def test_an_empty_place_of_a_pattern_is_named_with_what_was_expected() -> None:
    """Place, callout of the missing copy, and what is there, among the facts about the model."""
    (said,) = [each for each in body_view(build.body(), build.report().source).missing if "55" in each]
    told = "The mirror pattern of F1 has no member at x, y, z = 55, 30, 20: expected ⌀12 THRU, found nothing."
    assert english(said) == told


def test_thin_places_are_listed_thinnest_first_with_both_units() -> None:
    """A wall of 0.508 mm reads 0.508 mm and 0.020 in."""
    facts = replace(
        build.facts(), walls=(ThinPlace(thickness_mm=0.508, point_mm=(1.0, 2.0, 3.0), faces=(3,), area_mm2=4.0),)
    )
    html = to_html(build.report(build.body(facts=facts)))
    assert '<span class="mm">0.508\u00a0mm</span><span class="in">0.020\u00a0in</span>' in html


@needs_chromium
@pytest.mark.parametrize("make", [*SHAPES, pytest.param(hostile, id="hostile")])
def test_opens_from_disk_without_a_complaint(make: Callable[[], Report], tmp_path: Path) -> None:
    """Chromium shows the page with no console message, no script error and no request to anywhere."""
    file = tmp_path / "report.html"
    file.write_text(to_html(make()), encoding="utf-8")
    with opened(file) as (page, wrong):
        assert page.evaluate("document.documentElement.scrollWidth <= innerWidth"), "the page is wider than the window"
        assert wrong == []


@needs_chromium
def test_unit_switch_changes_every_length(tmp_path: Path) -> None:
    """After a click on "inch" no millimetre is left to see, before it no inch."""
    file = tmp_path / "report.html"
    file.write_text(to_html(build.with_many_features()), encoding="utf-8")
    with opened(file) as (page, _):
        before = page.locator("main").inner_text()
        page.click("label[for=unit-in]")
        after = page.locator("main").inner_text()
    assert re.search(r"\d\s(mm|mm²|mm³)\b", before)
    assert not re.search(r"\d\sin\b", before)
    assert re.search(r"\d\sin\b", after)
    left = [line for line in after.splitlines() if re.search(r"\d\smm\b", line) and "Unit" not in line]
    assert left == []


@needs_chromium
def test_prints_on_a4_without_cut_tables(tmp_path: Path) -> None:
    """On paper of 186 mm between the margins no table runs over the edge, and the controls are gone."""
    file = tmp_path / "report.html"
    file.write_text(to_html(build.with_many_features()), encoding="utf-8")
    with opened(file, width=round(186 / 25.4 * 96)) as (page, _):
        page.emulate_media(media="print")
        wide = page.evaluate(
            "Array.from(document.querySelectorAll('table, svg, h1, li')).filter((each) =>"
            " each.getBoundingClientRect().right > innerWidth).map((each) => each.textContent.slice(0, 80))"
        )
        assert wide == []
        assert page.locator(".choice:visible, button:visible").count() == 0


@needs_chromium
def test_first_screen_answers_the_owner(tmp_path: Path) -> None:
    """Name, size, bucket, reason, minutes, setups, what matters and questions are seen without scrolling."""
    file = tmp_path / "report.html"
    file.write_text(to_html(build.with_many_features()), encoding="utf-8")
    with opened(file) as (page, _):
        for selector in ("h1", ".what", ".hero .bucket", ".why", ".tiles", ".matters", ".picture svg"):
            box = page.locator(selector).first.bounding_box()
            assert box, selector
            assert box["y"] + box["height"] <= 900, selector
        assert page.locator(".matters li").count() <= 3


@needs_chromium
@pytest.mark.parametrize(("width", "height"), [(1400, 900), (820, 1100), (390, 800)], ids=["desk", "tablet", "phone"])
def test_bucket_and_reason_are_on_the_first_screen(tmp_path: Path, width: int, height: int) -> None:
    """What it is, the bucket, why, minutes and setups show without scrolling, and nothing sticks out sideways."""
    file = tmp_path / "report.html"
    many = build.with_many_features()
    long_name = replace(many.source, file_name="a_file_name_that_is_a_good_deal_longer_than_the_bar_has_room_for.step")
    file.write_text(to_html(replace(many, source=long_name)), encoding="utf-8")
    with opened(file, width=width, height=height) as (page, wrong):
        for part in (".hero h1", ".verdict .bucket", ".why", ".tiles > div:nth-child(1)", ".tiles > div:nth-child(2)"):
            box = page.locator(part).bounding_box()
            assert box
            assert box["y"] + box["height"] <= height, part
        assert page.evaluate("document.documentElement.scrollWidth") <= width
        assert wrong == []


@needs_chromium
def test_questions_copy_as_plain_text(tmp_path: Path) -> None:
    """The copy button puts the numbered questions, in the unit shown, on the clipboard."""
    file = tmp_path / "report.html"
    file.write_text(to_html(build.report()), encoding="utf-8")
    with opened(file) as (page, _):
        page.context.grant_permissions(["clipboard-read", "clipboard-write"])
        page.click("button.copy")
        expect(page.locator("button.copy")).to_have_text("Copied", use_inner_text=True)
        copied = page.evaluate("navigator.clipboard.readText()")
    assert copied == "1. Is the 12 mm hole for a dowel pin? The model gives no tolerance."


@needs_chromium
@needs_viewer
def test_without_webgl_the_pictures_stay(tmp_path: Path) -> None:
    """Where no 3D context is to be had, the picture with its markers is shown and no dead button."""
    file = tmp_path / "report.html"
    file.write_text(to_html(build.with_many_features()), encoding="utf-8")
    with opened(file) as (page, wrong):
        page.wait_for_selector("html.pictures-only")
        assert page.locator("figure.view > svg").first.is_visible()
        assert page.locator("button.show:visible").count() == 0
        assert wrong == []


@needs_viewer
def test_what_the_viewer_reads_cannot_end_its_element() -> None:
    """Names that close a script element stay inside the JSON text."""
    html = to_html(hostile())
    scripts = [attributes for tag, attributes in parsed(html).tags if tag == "script"]
    assert [each.get("type") for each in scripts] == ["application/json", "application/octet-stream", None]
    text = html.split('id="B1-solid">')[1].split("</script>")[0]
    assert "<" not in text
    assert json.loads(text)["id"] == "B1"


@pytest.fixture
def kept(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> _Compiled:
    """Return a place for compiled templates, in a process that may write such."""
    monkeypatch.setattr(sys, "dont_write_bytecode", False)
    place = _Compiled()
    place.directory = str(tmp_path / "kept")
    return place


def printed(kept: _Compiled, template: str) -> str:
    """Return what a process prints that has no template in memory."""
    environment = Environment(loader=DictLoader({"page": template}), bytecode_cache=kept, autoescape=True)
    return environment.get_template("page").render()


def test_a_compiled_template_is_kept_for_the_next_process(kept: _Compiled, monkeypatch: pytest.MonkeyPatch) -> None:
    """It is compiled once, and anew only where its text is another."""
    assert printed(kept, "{{ 6 * 7 }}") == "42"
    assert printed(kept, "{{ 6 + 7 }}") == "13"
    monkeypatch.setattr(Environment, "compile", None)
    assert printed(kept, "{{ 6 + 7 }}") == "13"
    with pytest.raises(TypeError):
        printed(kept, "{{ 6 - 7 }}")
    assert len(list(Path(kept.directory).iterdir())) == 1


def test_templates_are_compiled_where_nothing_can_be_kept(kept: _Compiled, monkeypatch: pytest.MonkeyPatch) -> None:
    """A folder that cannot be made, or a Python that keeps nothing itself, costs time and no page."""
    monkeypatch.setattr(sys, "dont_write_bytecode", True)
    assert printed(kept, "{{ 6 * 7 }}") == "42"
    assert not Path(kept.directory).exists()
    monkeypatch.setattr(sys, "dont_write_bytecode", False)
    kept.directory = str(Path(kept.directory) / "in a folder that is not there")
    assert printed(kept, "{{ 6 * 7 }}") == "42"
