"""Many jobs, some at a time; the results come in the order of the jobs."""

import logging
from collections.abc import Iterator, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from pathlib import Path
from typing import Any, Protocol

from analyzers.model.report import Report
from analyzers.report.as_html import to_html
from analyzers.report.as_json import to_json
from analyzers.settings import Settings
from worker.failure import unfinished, unreadable
from worker.job import Job
from worker.limits import Limits
from worker.outcome import Ending, Outcome
from worker.sandbox import Sandbox
from worker.store import DOCUMENT, read_document, write_document, write_page

log = logging.getLogger(__name__)


class Watcher(Protocol):
    """Is told how a batch goes on; called from several threads."""

    def begun(self, job: Job) -> None:
        """Hear that a job has got its turn."""

    def stage(self, job: Job, stage: str) -> None:
        """Hear that a job has come to a stage."""

    def ended(self, job: Job, outcome: Outcome) -> None:
        """Hear that a job has come to its end."""


def run_batch(
    jobs: Sequence[Job], settings: Settings, sandbox: Sandbox, limits: Limits, at_once: int, watcher: Watcher
) -> Iterator[Outcome]:
    """Run all jobs, `at_once` at a time, and yield each outcome in the order of the jobs as soon as it may.

    Leaving the iteration early, by an interrupt say, kills what is running; reports that are written stay whole.
    """
    pool = ThreadPoolExecutor(at_once, thread_name_prefix="job")

    def work(job: Job) -> Outcome:
        watcher.begun(job)
        outcome = run_job(job, settings, sandbox, limits, watcher)
        watcher.ended(job, outcome)
        return outcome

    try:
        waiting: list[Future[Outcome]] = [pool.submit(work, job) for job in jobs]
        for future in waiting:
            yield future.result()
    except BaseException:
        pool.shutdown(wait=False, cancel_futures=True)
        sandbox.close()
        raise
    finally:
        pool.shutdown(wait=True, cancel_futures=True)


def run_job(job: Job, settings: Settings, sandbox: Sandbox, limits: Limits, watcher: Watcher) -> Outcome:
    """Run one job to its outcome; however the child ends, there is a report afterwards.

    A cancelled job leaves no report: nothing was found out about its model.
    """
    folder = Path(job.out)
    if job.refused is not None:
        report = unreadable(job, settings, job.refused)
        _write(report, job)
        return _outcome(job, Ending(how="finished", result={}))
    (folder / DOCUMENT).unlink(missing_ok=True)  # what lies there afterwards is of this run
    ending = sandbox.run(job.to_json(), limits, lambda stage: watcher.stage(job, stage))
    if ending.how == "cancelled":
        return Outcome(job=job, status="unreadable", analysed=False, problem=ending.message, ending=ending)
    if ending.how != "finished":
        log.warning("%s: %s\n%s", job.name, ending.message, ending.detail)
        _report_failure(job, settings, ending)
    elif ending.detail:
        log.info("%s: %s", job.name, ending.detail)
    return _outcome(job, ending)


def _report_failure(job: Job, settings: Settings, ending: Ending) -> None:
    """Write the report on a model whose child did not finish; what had been found before the page is kept."""
    folder = Path(job.out)
    if (folder / DOCUMENT).exists():
        document = read_document(folder / DOCUMENT)
        problem = {"stage": ending.stage, "message": f"report.html is missing. {ending.message}", "body": None}
        document |= {"status": "partial", "problems": [*document["problems"], problem]}
        write_document(folder, document)
    else:
        _write(unfinished(job, settings, ending), job)


def _write(report: Report, job: Job) -> None:
    """Write a report that was made here, without a child."""
    write_document(Path(job.out), to_json(report))
    if job.html:
        write_page(Path(job.out), to_html(report))


def _outcome(job: Job, ending: Ending) -> Outcome:
    document: dict[str, Any] = read_document(Path(job.out) / DOCUMENT)
    problems = document["problems"]
    return Outcome(
        job=job,
        status=document["status"],
        analysed=document["status"] != "unreadable" and bool(document["bodies"]),
        problem=problems[0]["message"] if problems else None,
        ending=ending,
    )
