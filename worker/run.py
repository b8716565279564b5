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
from worker.store import DOCUMENT, PAGE, is_report, read_document, rewrite_document, write_document, write_page

log = logging.getLogger(__name__)


def run_job(
    job: Job,
    settings: Settings,
    sandbox: Sandbox,
    limits: Limits,
    on_stage: Callable[[str], None],
    stop: Stop | None = None,
) -> Outcome:
    """Run one job in the sandbox and see to its report.

    A cancelled job leaves none: nothing was found out about its model.
    """
    folder = Path(job.out)
    if job.refused is not None:
        report = unreadable(job, settings, job.refused)
        _write(report, job)
        return outcome_of(job, Ending(how="finished", result={}))
    (folder / DOCUMENT).unlink(missing_ok=True)  # what lies there afterwards is of this run
    ending = sandbox.run(job.to_json(), limits, on_stage, stop)
    if ending.how == "cancelled":
        return Outcome(job=job, status="unreadable", analysed=False, problem=ending.message, ending=ending)
    if ending.how == "finished" and not is_report(folder / DOCUMENT):
        (folder / DOCUMENT).unlink(missing_ok=True)
        ending = replace(ending, how="failed", result=None, message="The analysis left no report that can be read.")
    if ending.how != "finished":
        log.warning("%s: %s\n%s", job.name, ending.message, ending.detail)
        report_failure(job, settings, ending)
    elif ending.detail:
        log.info("%s: %s", job.name, ending.detail)
    if "pdf" in job.exports and (folder / PAGE).exists():
        _note(folder, print_pdf(folder))
    return outcome_of(job, ending)


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
    document: dict[str, Any] = read_document(Path(job.out) / DOCUMENT)
    problems = document["problems"]
    return Outcome(
        job=job,
        status=document["status"],
        analysed=document["status"] != "unreadable" and bool(document["bodies"]),
        problem=problems[0]["message"] if problems else None,
        ending=ending,
    )
