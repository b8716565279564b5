"""One job, from its turn to its outcome; however its child ends, there is a report afterwards."""

import logging
from collections.abc import Callable
from dataclasses import asdict, replace
from pathlib import Path
from typing import Any

from analyzers.model.report import Report
from analyzers.model.source import Problem
from analyzers.report.as_html import to_html
from analyzers.report.as_json import to_json
from analyzers.settings import Settings
from worker.export_kinds import STAGE as EXPORT_STAGE
from worker.failure import unfinished, unreadable
from worker.job import Job
from worker.limits import Limits
from worker.outcome import Ending, Outcome
from worker.pdf import print_pdf
from worker.sandbox import Sandbox, Stop
from worker.store import (
    DOCUMENT,
    PAGE,
    read_document,
    remove_report,
    report_in,
    rewrite_document,
    write_document,
    write_page,
)

log = logging.getLogger(__name__)


def run_job(
    job: Job,
    settings: Settings,
    sandbox: Sandbox,
    limits: Limits,
    on_stage: Callable[[str], None],
    stop: Stop | None = None,
) -> tuple[Outcome, dict[str, Any]]:
    """Run one job in the sandbox, see to its report, and return its outcome with the report's document.

    A cancelled job leaves none, and {}: nothing was found out about its model.
    """
    folder = Path(job.out)
    if job.refused is not None:
        _write(unreadable(job, settings, job.refused), job)
        return _with_document(job, Ending(how="finished", result={}))
    remove_report(folder)  # what lies there afterwards is of this run
    ending, document = sandbox.run(job.to_json(), limits, on_stage, stop), None
    if ending.how == "cancelled":
        return Outcome(job=job, status="unreadable", analysed=False, problem=ending.message, ending=ending), {}
    if ending.how == "finished" and (document := report_in(folder / DOCUMENT)) is None:
        (folder / DOCUMENT).unlink(missing_ok=True)
        ending = replace(ending, how="failed", result=None, message="The analysis left no report that can be read.")
    if ending.how != "finished":
        log.warning("%s: %s\n%s", job.name, ending.message, ending.detail)
        report_failure(job, settings, ending)
    elif ending.detail:
        log.info("%s: %s", job.name, ending.detail)
    if "pdf" in job.exports and (folder / PAGE).exists():
        _note(folder, print_pdf(folder))
        document = None
    return _with_document(job, ending, document)


def _note(folder: Path, problem: Problem | None) -> None:
    """Enter a problem of this process into the document."""
    if problem is not None:
        document = read_document(folder / DOCUMENT)
        rewrite_document(folder, with_problem(document, asdict(problem)))


def with_problem(document: dict[str, Any], problem: dict[str, Any]) -> dict[str, Any]:
    """Return a document with one more problem; a complete one is partial with it."""
    status = "partial" if document["status"] == "complete" else document["status"]
    return document | {"status": status, "problems": [*document["problems"], problem]}


def report_failure(job: Job, settings: Settings, ending: Ending) -> None:
    """Write the report on a model whose child did not finish; what had been found before the page is kept."""
    folder = Path(job.out)
    if (folder / DOCUMENT).exists():
        document = read_document(folder / DOCUMENT)
        missing = "An export is missing." if ending.stage == EXPORT_STAGE else "report.html is missing."
        problem = {"stage": ending.stage, "message": f"{missing} {ending.message}", "body": None}
        rewrite_document(folder, with_problem(document, problem))
    else:
        _write(unfinished(job, settings, ending), job)


def _write(report: Report, job: Job) -> None:
    """Write a report that was made here, without a child."""
    write_document(Path(job.out), to_json(report))
    if job.html:
        write_page(Path(job.out), to_html(report))


def outcome_of(job: Job, ending: Ending) -> Outcome:
    """Return the outcome of a job whose report lies in its folder."""
    return _with_document(job, ending)[0]


def _with_document(job: Job, ending: Ending, document: dict[str, Any] | None = None) -> tuple[Outcome, dict[str, Any]]:
    """Return the outcome of a job with its document, which is read where that has not been done."""
    document = read_document(Path(job.out) / DOCUMENT) if document is None else document
    problems = document["problems"]
    outcome = Outcome(
        job=job,
        status=document["status"],
        analysed=document["status"] != "unreadable" and bool(document["bodies"]),
        problem=problems[0]["message"] if problems else None,
        ending=ending,
    )
    return outcome, document
