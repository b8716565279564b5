"""Tolerances and threads of the model's own annotations: in report.json, and in the hole chart."""

import re
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from analyzers import analyse
from analyzers.model.report import Facts
from analyzers.model.tolerance_note import ToleranceNote
from analyzers.report.as_html import to_html
from analyzers.report.as_json import to_json
from analyzers.report.notes import NONE_HERE, NONE_IN_MODEL, said_about, tolerance_cell, why_none
from analyzers.report.schema import SCHEMA
from analyzers.report.tables import hole_heads
from analyzers.settings import load_settings
from tests.report import _builders as build
from tests.report._english import english

WALL = (build.HOLE_FACE,)
H7 = ToleranceNote(id="T1", kind="diameter", nominal_mm=12.0, upper_mm=0.018, lower_mm=0.0, zone_mm=0.018, faces=WALL)
"""⌀12 H7: 0 to +18 micrometres (ISO 286-1, facts table iso286_it: IT 7 of 10 to 18 mm is 18)."""
PLACE = ToleranceNote(id="T2", kind="position", zone_mm=0.1, round_zone=True, datums=("A",), faces=WALL)
THREAD = ToleranceNote(id="T3", kind="thread", thread="M12×1.75-6H", pitch_mm=1.75, faces=WALL)
EXACT = ToleranceNote(id="T4", kind="diameter", nominal_mm=12.0, use="theoretical", faces=WALL)
ELSEWHERE = ToleranceNote(id="T5", kind="flatness", zone_mm=0.02, faces=(build.TOP_FACE,))
BARE = ToleranceNote(id="T6", kind="length", why_none="the file gives no value", faces=WALL)


def noted(*notes: ToleranceNote) -> Facts:
    """Return the facts of the plate with one hole, and these notes."""
    return replace(build.facts(), tolerances=notes)


def hole_of(*notes: ToleranceNote) -> dict[str, Any]:
    """Return the hole as report.json shows it."""
    document = to_json(build.report(build.body(facts=noted(*notes))))
    Draft202012Validator(SCHEMA).validate(document)
    hole: dict[str, Any] = document["bodies"][0]["features"][0]
    return hole


@pytest.mark.parametrize(
    ("notes", "width", "grade", "thread"),
    [
        pytest.param((H7,), 0.018, 7, None, id="size"),
        pytest.param((PLACE,), 0.1, None, None, id="place-has-no-grade"),
        pytest.param((PLACE, H7), 0.018, 7, None, id="the-narrower-of-two"),
        pytest.param((H7, THREAD), 0.018, 7, "M12×1.75-6H", id="thread-beside-it"),
        pytest.param((H7, ELSEWHERE), 0.018, 7, None, id="a-face-elsewhere-does-not-count"),
    ],
)
def test_a_feature_carries_its_tolerance(
    notes: tuple[ToleranceNote, ...], width: float, grade: int | None, thread: str | None
) -> None:
    """Narrowest width, finest ISO 286 grade, thread, and which notes say so."""
    hole = hole_of(*notes)
    assert (hole["tolerance_mm"], hole["it_grade"], hole["thread"]) == (width, grade, thread)
    assert "tolerance_none_because" not in hole
    assert hole["notes"] == [each.id for each in notes if each.faces == WALL]


@pytest.mark.parametrize(
    ("notes", "reason"),
    [
        pytest.param((), NONE_IN_MODEL, id="no-notes"),
        pytest.param((EXACT,), NONE_IN_MODEL, id="theoretically-exact"),
        pytest.param((BARE,), NONE_IN_MODEL, id="a-note-without-a-number"),
        pytest.param((THREAD,), NONE_IN_MODEL, id="only-a-thread"),
        pytest.param((ELSEWHERE,), NONE_HERE, id="somewhere-else"),
    ],
)
def test_where_there_is_none_it_says_so(notes: tuple[ToleranceNote, ...], reason: str) -> None:
    """Null with its reason, never 0."""
    hole = hole_of(*notes)
    assert (hole["tolerance_mm"], hole["it_grade"], hole["tolerance_none_because"]) == (None, None, reason)
    assert why_none(noted(*notes)) == reason


def test_every_note_of_the_file_is_listed_with_what_it_points_at() -> None:
    """Numbers, callout, grade, faces and features; one of a plain face has no feature."""
    body = to_json(build.report(build.body(facts=noted(H7, ELSEWHERE))))["bodies"][0]
    size, flat = body["tolerances"]
    assert (size["id"], size["callout"], size["it_grade"], size["features"]) == ("T1", "⌀12 +0.018/0", 7, ["F1"])
    assert (flat["kind"], flat["zone_mm"], flat["features"], flat["faces"]) == ("flatness", 0.02, [], [build.TOP_FACE])


HEAD = re.compile(r'<th scope="col">(?:<[^>]+>)*Tolerance<')


def text_of(facts: Facts) -> str:
    """Return the tolerance cell of the hole as it reads in millimetres."""
    return english(str(tolerance_cell(facts, facts.features[0])))


def test_the_hole_chart_has_a_column_where_the_model_carries_tolerances() -> None:
    """Callouts as on a drawing, with the grade; a hole without any says none."""
    assert hole_heads(noted(H7))[-1] == "Tolerance"
    assert text_of(noted(H7, PLACE)) == "⌀12 +0.018/0; ⌖ ⌀0.1 | A (IT 7)"
    assert text_of(noted(ELSEWHERE)) == "none"
    html = to_html(build.report(build.body(facts=noted(H7))))
    assert HEAD.search(html)
    assert "none in the model" not in html


def test_the_hole_chart_says_once_that_the_model_carries_none() -> None:
    """No empty column."""
    html = to_html(build.report())
    assert not HEAD.search(html)
    assert "Tolerances and threads: none in the model." in html


def test_a_thread_that_the_model_names_is_what_the_hole_is_for() -> None:
    """No guess beside it."""
    html = to_html(build.report(build.body(facts=noted(THREAD))))
    (cell,) = re.findall(r'<td class="for">(.*?)</td>', html, re.DOTALL)
    assert english(cell) == "thread M12×1.75-6H, as the model says"


def test_said_about_keeps_the_order_of_the_file() -> None:
    """Notes as they come; limits without threads and exact sizes."""
    facts = noted(EXACT, THREAD, PLACE, H7)
    said = said_about(facts, facts.features[0])
    assert [each.id for each in said.notes] == ["T4", "T3", "T2", "T1"]
    assert [each.id for each in said.limits] == ["T2", "T1"]


def test_a_published_test_case_shows_the_dimensions_of_its_drawing(corpora: Path) -> None:
    """NIST CTC 01 (AP242 with semantic annotations): its four 35 mm and its 20 mm holes carry the drawing's limits."""
    report = analyse(corpora / "real" / "nist_ctc_01_asme1_ap242.stp", load_settings())
    document = to_json(report)
    Draft202012Validator(SCHEMA).validate(document)
    (body,) = document["bodies"]
    callouts = {note["id"]: note["callout"] for note in body["tolerances"]}
    said = {
        round(each["diameter_mm"], 3): {callouts[note] for note in each["notes"]}
        for each in body["features"]
        if each["kind"] == "round_hole" and each["notes"]
    }
    assert said
    for diameter, notes in said.items():
        sizes = {float(text[1:].split()[0]) for text in notes if text.startswith("⌀") and "?" not in text}
        assert all(size == pytest.approx(diameter, abs=1e-3) for size in sizes)
    grades = {round(each["diameter_mm"], 3): each["it_grade"] for each in body["features"] if each["it_grade"]}
    assert set(grades) <= set(said)
