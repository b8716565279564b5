"""What the child does with one model, run in this process: geometry is read once, however often it is judged."""

import json
import os
import re
import subprocess
import sys
import tempfile
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from analyzers.model.stored import restore, stored
from analyzers.pipeline import Measured
from analyzers.settings import load_settings
from tests.worker.processes import ROOT, children
from worker import analysis
from worker.job import Job
from worker.limits import Limits
from worker.sandbox import Sandbox
from worker.store import DOCUMENT, PAGE, THUMBNAIL, read_document

_TIMES = re.compile(r"\d+[.,]\d\d s\b")
"""How long the analysis took, as the page says it."""


@pytest.fixture
def job(parts: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Job:
    """Make a job that keeps its facts."""
    (tmp_path / "work").mkdir()
    monkeypatch.chdir(tmp_path / "work")
    return Job(
        name="plate.step",
        path=str(parts / "oil_manifold.step"),
        file_name="plate.step",
        out=str(tmp_path / "first"),
        facts=str(tmp_path / "facts" / "x"),
        digest=load_settings().digest,
    )


def run(job: Job) -> tuple[dict[str, Any], list[str]]:
    """Run a job and return its document and the stages that it went through."""
    stages: list[str] = []
    (Path.cwd() / "plate.step").unlink(missing_ok=True)
    analysis.run(job.to_json(), lambda line: stages.append(line["stage"]))
    return read_document(Path(job.out) / DOCUMENT), stages


def test_a_report_is_the_same_whoever_was_in_the_process_before(parts: Path, tmp_path: Path) -> None:
    """Twelve models in one child and each in a child of its own: documents, pages, pictures and facts are the same."""
    models, digest = sorted(parts.glob("*.step"))[:12], load_settings().digest
    found: dict[int, list[dict[str, object]]] = {}
    with Sandbox() as sandbox:
        for files in (12, 1):
            for model in models:
                out = tmp_path / str(files) / model.stem
                job = Job(name=model.name, path=str(model), out=str(out), facts=str(out / "facts"), digest=digest)
                assert sandbox.run(job.to_json(), Limits(files=files)).result == {"status": "complete"}
                document = read_document(out / DOCUMENT) | {"timings_s": None}
                page = _TIMES.sub("", (out / PAGE).read_text("utf-8"))
                facts = replace(restore(Measured, out / "facts"), timings_s={})
                told = {"document": document, "page": page, "picture": (out / THUMBNAIL).read_text("utf-8")}
                found.setdefault(files, []).append({**told, "facts": stored(facts)})
    for model, together, alone in zip(models, found[12], found[1], strict=True):
        for name, value in alone.items():
            assert together[name] == value, f"{model.name}: another {name}"


def test_other_settings_cost_no_new_measuring(job: Job, tmp_path: Path) -> None:
    """The model itself is not even there the second time; facts are the same, only the judgement is new."""
    first, stages = run(job)
    assert "load" in stages
    settings = load_settings(material="1.4301", quantity=50)
    second, stages = run(
        replace(
            job,
            path=str(tmp_path / "gone.step"),
            file_name="other.step",
            material="1.4301",
            quantity=50,
            out=str(tmp_path / "second"),
            digest=settings.digest,
        )
    )
    assert "load" not in stages
    assert "load" not in second["timings_s"]
    assert second["source"] == {**first["source"], "file_name": "other.step"}
    assert second["settings"]["quantity"] == 50
    for old, new in zip(first["bodies"], second["bodies"], strict=True):
        for name in ("features", "measures", "walls", "volume_mm3"):
            assert old[name] == new[name]
        assert old["triage"]["machining_minutes"] != new["triage"]["machining_minutes"]


def test_damaged_facts_are_measured_anew(job: Job) -> None:
    """They are replaced by sound ones."""
    first, _ = run(job)
    facts = Path(job.facts or "")
    facts.write_bytes(facts.read_bytes()[:100])
    second, stages = run(job)
    assert "load" in stages
    assert first["bodies"] == second["bodies"]
    assert restore(Measured, facts).bodies


def test_facts_that_cannot_be_kept_cost_nothing_else(job: Job, tmp_path: Path) -> None:
    """A full disk or a file in the way: the report is complete all the same."""
    (tmp_path / "facts").write_text("in the way")
    document, _ = run(job)
    assert document["status"] == "complete"


def test_a_model_that_cannot_be_read_keeps_no_facts(job: Job, tmp_path: Path) -> None:
    """Its report says why."""
    bad = tmp_path / "bad.step"
    bad.write_text("no model")
    document, _ = run(replace(job, path=str(bad)))
    assert document["status"] == "unreadable"
    assert not Path(job.facts or "").exists()


def test_page_and_drawing_of_a_second_judgement_are_whole(job: Job, tmp_path: Path) -> None:
    """The line drawings were kept with the facts: the second page has them without any geometry."""
    run(job)
    again = replace(job, path=str(tmp_path / "gone.step"), out=str(tmp_path / "second"))
    run(again)
    for each in (job, again):
        assert sorted(found.name for found in Path(each.out).iterdir()) == sorted([PAGE, DOCUMENT, THUMBNAIL])
    pages = [(Path(each.out) / PAGE).read_text("utf-8") for each in (job, again)]
    assert pages[0].count("<path") == pages[1].count("<path") > 0
    assert (Path(job.out) / THUMBNAIL).read_bytes() == (Path(again.out) / THUMBNAIL).read_bytes()


def test_the_process_that_forks_has_one_thread(job: Job) -> None:
    """After all that it loads ahead, and after a job: a fork copies no lock that another thread holds."""
    with Sandbox() as sandbox:
        assert sandbox.run(job.to_json(), Limits()).how == "finished"
        (helper,) = [
            pid for pid in children(os.getpid()) if b"worker.forker" in Path(f"/proc/{pid}/cmdline").read_bytes()
        ]
        assert len(list(Path(f"/proc/{helper}/task").iterdir())) == 1


def test_what_is_loaded_ahead_is_not_loaded_again(job: Job) -> None:
    """A child that is forked after it loads no module of this project."""
    code = (
        "import sys, json; from worker import analysis; from worker.job import Job; analysis.warm_up();"
        "before = set(sys.modules); analysis.run(json.loads(sys.argv[1]), lambda line: None);"
        "print(sorted(each for each in set(sys.modules) - before if each.split('.')[0] in ('analyzers', 'worker')))"
    )
    command = [sys.executable, "-c", code, json.dumps(job.to_json())]
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    told = subprocess.run(command, env=environment, capture_output=True, text=True, check=True)
    assert told.stdout.strip() == "[]"


def test_the_sample_that_warms_is_an_example_part(parts: Path) -> None:
    """It is what the part's script makes, so that it changes with it."""
    assert analysis.SAMPLE.read_bytes() == (parts / "lid_plate.step").read_bytes()


def test_what_warms_leaves_nothing_behind(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Neither a file nor a child; and the process may use all cores again."""
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    cores, others = os.sched_getaffinity(0), children(os.getpid())
    analysis.warm_up()
    assert list(tmp_path.iterdir()) == []
    assert children(os.getpid()) == others
    assert os.sched_getaffinity(0) == cores
