"""Broken files end in a report or a clear error; this is the small run of `tests.worker.mutation_campaign`."""

import json
import random
import tempfile
from pathlib import Path

import pytest

from tests.worker.mutation_campaign import BatchWay, Ended, Footprint, Run, breach_in, campaign, left_over, reason_of
from tests.worker.mutations import KINDS, mutant, small_bases
from tests.worker.processes import ROOT
from worker.limits import Limits
from worker.sandbox import Sandbox

BASES = small_bases([ROOT / "fixtures"], 20_000)
EACH_KIND_TIMES = 3


def test_broken_files_end_in_reports_and_leave_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Three of each kind: every one has a report with its reason, within its limits; nothing piles up or stays."""
    temporary = tmp_path / "tmp"
    temporary.mkdir()
    monkeypatch.setattr(tempfile, "tempdir", str(temporary))
    ended: list[Ended] = []
    with Sandbox() as sandbox:
        run = Run(BatchWay(tmp_path / "batch", Limits(20.0, 1024), sandbox), temporary)
        campaign(range(EACH_KIND_TIMES * len(KINDS)), BASES, 1, run, ended.append)
    assert run.breaches == []
    assert {each.kind for each in ended} == set(KINDS)
    assert run.models >= run.files == EACH_KIND_TIMES * len(KINDS)
    assert {status for status, _ in run.table} == {"complete", "partial", "unreadable"}
    assert not [each for each in ended if "exception" in each.reason]
    assert list(temporary.iterdir()) == []


def test_a_mutant_is_always_the_same() -> None:
    """Whoever asks, in whatever order: a fault can be had again by its number."""
    first = [mutant(number, BASES) for number in range(len(KINDS))]
    assert [mutant(number, BASES) for number in reversed(range(len(KINDS)))][::-1] == first
    assert [each.kind for each in first] == list(KINDS)
    assert first[0].content != mutant(0, BASES, seed=2).content


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_changes_most_files(kind: str) -> None:
    """Of ten tries at a file at least six come out changed."""
    _, data = BASES[0]
    assert sum(KINDS[kind](data, random.Random(seed)) != data for seed in range(10)) >= 6


REPORT = {"status": "complete", "problems": [], "bodies": [{}]}


def problem(stage: str, message: str) -> dict[str, str]:
    """Return a problem of a report."""
    return {"stage": stage, "message": message}


@pytest.mark.parametrize(
    ("changes", "sound"),
    [
        ({}, True),
        ({"status": "partial", "problems": [problem("load", "a gap")]}, True),
        ({"status": "fine"}, False),
        ({"status": "partial"}, False),
        ({"status": "unreadable", "problems": [problem("load", "")]}, False),
        ({"bodies": []}, False),
    ],
)
def test_the_campaign_sees_what_a_report_lacks(changes: dict[str, object], sound: bool) -> None:
    """A status that nobody knows, a failure without a word, a complete report about nothing."""
    assert (breach_in({**REPORT, **changes}) is None) == sound


def test_the_campaign_sees_what_is_left_over() -> None:
    """A dead helper, a child, a file, an open descriptor."""
    first = Footprint(100.0, 8, 7, 200.0, 5, 0, 0)
    assert left_over(first, first) == []
    assert len(left_over(first, Footprint(100.0, 8, 9, 200.0, 6, 1, 1))) == 4


@pytest.mark.parametrize(
    ("message", "reason"),
    [
        ('The analysis crashed (SIGSEGV) in stage "load".', "crashed, SIGSEGV in load"),
        ('The analysis was stopped after its time limit of 4 s in stage "load".', "over its time in load"),
        ("the file is cut off", "named problem in load"),
    ],
)
def test_reasons_are_read_from_the_report(message: str, reason: str) -> None:
    """Signal, limit and stage stand in its problems."""
    document = json.loads(json.dumps({**REPORT, "status": "partial", "problems": [problem("load", message)]}))
    assert reason_of(document) == reason
