"""The formats that list many files: table, CSV, Markdown, JUnit XML, SARIF."""

import csv
import io
import json
import xml.etree.ElementTree as ET
from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Any

import pytest
from markdown_it import MarkdownIt
from rich.console import Console

from analyzers.model.report import Report
from analyzers.report.as_csv import COLUMNS, to_csv
from analyzers.report.as_json import to_json
from analyzers.report.as_junit import to_junit
from analyzers.report.as_markdown import plain, to_markdown
from analyzers.report.as_sarif import to_sarif
from analyzers.report.as_table import to_rich, to_table
from analyzers.report.rows import ranked, rows
from tests.report import _builders as build
from tests.report.test_as_html import HOSTILE, hostile

Document = dict[str, Any]


def documents(*reports: Report) -> list[Document]:
    """Return the documents as they come back from disk."""
    return [json.loads(json.dumps(to_json(each))) for each in reports]


def mixed() -> list[Document]:
    """Return a file with three findings, one with two bodies, and one that cannot be read."""
    pair = build.report(build.body(1), build.body(2, build.plate("Lid", count=4)))
    return documents(build.with_many_features(), pair, build.unreadable())


def never(_: Mapping[str, Any]) -> bool:
    """Let nothing fail the gate."""
    return False


def always(_: Mapping[str, Any]) -> bool:
    """Let everything fail the gate."""
    return True


def test_one_row_per_body_and_one_for_a_file_without() -> None:
    """Nothing is lost on the way into a list."""
    found = rows(mixed())
    assert [(row.body, row.status) for row in found] == [
        ("B1", "complete"),
        ("B1", "complete"),
        ("B2", "complete"),
        (None, "unreadable"),
    ]
    assert (found[0].errors, found[0].warnings, found[0].notes) == (1, 1, 1)
    assert found[2].count == 4
    assert found[3].remark.startswith("This is a PNG picture")


def test_unreadable_files_lead_the_ranking() -> None:
    """What nobody could look at comes first, then the hardest."""
    easy, hard = build.body(), build.body()
    hard = replace(hard, triage=replace(hard.triage, difficulty=80.0))
    found = rows(documents(build.report(easy), build.report(hard), build.unreadable()))
    assert [row.difficulty for row in ranked(found)] == [None, 80.0, 14.0]


@pytest.mark.parametrize("width", [112, 120, 200])
def test_plain_table_keeps_its_columns(width: int) -> None:
    """Every line is as wide as asked at most, and each column starts at the same place."""
    lines = to_table(mixed(), width).splitlines()
    assert max(len(line) for line in lines) <= width
    start = lines[0].index("Bucket")
    assert [line[start:].split()[0] for line in lines[1:]] == ["Routine", "Routine", "Routine", "–"]


def test_rich_table_says_the_same() -> None:
    """The coloured table has the same cells as the plain one."""
    console = Console(width=200, file=io.StringIO(), no_color=True)
    with console.capture() as capture:
        console.print(to_rich(mixed()))
    text = capture.get()
    for word in ("clamp_plate.step", "Routine", "6 to 15 min", "1/1/1", "B2 (4×)", "unreadable"):
        assert word in text


def test_csv_reads_back() -> None:
    """A spreadsheet gets one line per body; what is not known is empty, never 0."""
    lines = list(csv.DictReader(io.StringIO(to_csv(mixed()))))
    assert list(lines[0]) == list(COLUMNS)
    assert [line["body"] for line in lines] == ["B1", "B1", "B2", ""]
    assert float(lines[0]["minutes_likely"]) == 9.0
    assert {lines[3][column] for column in COLUMNS[2:-1]} == {""}


def test_csv_runs_no_formula() -> None:
    """A part called "=1+1" stays a text in a spreadsheet."""
    (line,) = csv.DictReader(io.StringIO(to_csv(documents(build.report(build.body(1, build.plate("=1+1")))))))
    assert line["name"] == "'=1+1"


@pytest.mark.parametrize(
    "text",
    [
        "plain words",
        "a_b *c* `d` [e](f) <g> | h # i ! j ~~k~~ & \\l",
        "**bold** and __under__",
        "<script>alert(1)</script>",
        "1. not a list",
        "![picture](x)",
    ],
)
def test_markdown_shows_text_letter_by_letter(text: str) -> None:
    """A reader of CommonMark sees exactly the text, and no element comes of it."""
    html = MarkdownIt("commonmark").render(f"- x {plain(text)}")
    seen = "".join(ET.fromstring(f"<r>{html}</r>").itertext()).strip()  # noqa: S314  # our own renderer's output
    assert seen == f"x {text}"
    assert "<strong>" not in html


@pytest.mark.parametrize("text", ["@everyone", "see #12", "http://example.org", "www.example.org"])
def test_markdown_neither_mentions_nor_links(text: str) -> None:
    """A name in a file cannot call people or lead anywhere."""
    assert text not in plain(text)


def test_markdown_has_the_table_and_the_cautions() -> None:
    """The list is one table with a line per body, and the cautions close it."""
    html = MarkdownIt("commonmark").enable("table").render(to_markdown(mixed()))
    assert html.count("<tr>") == 1 + 4
    assert "estimates" in html


def test_markdown_of_a_hostile_file_is_text() -> None:
    """Tags from the file stay text also where HTML is allowed."""
    html = MarkdownIt("commonmark").enable("table").render(to_markdown(documents(hostile())))
    assert "<script" not in html
    assert "<img" not in html


@pytest.mark.parametrize(
    ("fails", "failures"), [(None, 1), (never, 0), (always, 5)], ids=["errors", "nothing", "everything"]
)
def test_junit_counts(fails: Callable[[Mapping[str, Any]], bool] | None, failures: int) -> None:
    """The totals are the sums of what is there: failures as the gate says, the unreadable file an error."""
    text = to_junit(mixed()) if fails is None else to_junit(mixed(), fails)
    root = ET.fromstring(text)  # noqa: S314  # written here
    cases = root.findall("testsuite/testcase")
    assert int(root.attrib["tests"]) == len(cases) == 3 + 5
    assert int(root.attrib["failures"]) == len(root.findall(".//failure")) == failures
    assert int(root.attrib["errors"]) == len(root.findall(".//error")) == 1
    for suite in root:
        assert int(suite.attrib["tests"]) == len(suite)
    assert len({(case.attrib["classname"], case.attrib["name"]) for case in root[1]}) == len(root[1])


def test_junit_of_a_hostile_file_is_well_formed() -> None:
    """Control characters that XML forbids do not reach it."""
    text = to_junit(documents(hostile()))
    assert ET.fromstring(text).find(".//script") is None  # noqa: S314  # written here


def test_sarif_results_point_at_rule_file_and_feature() -> None:
    """Each finding is one result whose rule, place and fingerprint can be followed."""
    log = to_sarif(mixed(), version="1.2.3")
    assert (log["version"], len(log["runs"])) == ("2.1.0", 1)
    run = log["runs"][0]
    rules = [rule["id"] for rule in run["tool"]["driver"]["rules"]]
    assert len(run["results"]) == 5
    for result in run["results"]:
        assert rules[result["ruleIndex"]] == result["ruleId"]
        assert result["level"] in ("error", "warning", "note")
        assert result["locations"][0]["physicalLocation"]["artifactLocation"]["uri"] == "clamp_plate.step"
        assert result["partialFingerprints"]
    assert run["invocations"][0]["executionSuccessful"] is False
    assert len(run["invocations"][0]["toolExecutionNotifications"]) == 1


def test_sarif_level_follows_the_gate() -> None:
    """What fails is an error; what does not is a warning or a note, whatever its own level."""
    levels = [[each["level"] for each in to_sarif(mixed(), f)["runs"][0]["results"]] for f in (always, never)]
    assert set(levels[0]) == {"error"}
    assert "error" not in levels[1]


def test_sarif_addresses_are_addresses() -> None:
    """A file name with blanks and brackets becomes a relative address without them."""
    (artifact,) = to_sarif(documents(hostile()))["runs"][0]["artifacts"]
    assert not set(artifact["location"]["uri"]) & set(" <>\"'{}\u202e")
    assert HOSTILE not in json.dumps(artifact)


@pytest.mark.parametrize("write", [to_table, to_csv, to_markdown, to_junit, to_sarif])
def test_no_files_make_an_empty_list(write: Callable[[list[Document]], object]) -> None:
    """An empty folder is no reason to fail."""
    assert write([])


@pytest.mark.parametrize(
    "write", [to_table, to_csv, to_markdown, to_junit, lambda d: json.dumps(to_sarif(d), ensure_ascii=False)]
)
def test_nothing_invisible_reaches_a_list(write: Callable[[list[Document]], str]) -> None:
    """A direction override in a name shows as its code, or is percent-encoded in an address."""
    assert "\u202e" not in write(documents(hostile()))
