"""Many jobs, some at a time; the results come in the order of the jobs."""

from collections.abc import Iterator, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from typing import Protocol

from analyzers.settings import Settings
from worker.job import Job
from worker.limits import Limits
from worker.outcome import Outcome
from worker.reuse import Known
from worker.run import run_job
from worker.sandbox import Sandbox


class Watcher(Protocol):
    """Is told how a batch goes on; called from several threads."""

    def begun(self, job: Job) -> None:
        """Hear that a job has got its turn."""

    def stage(self, job: Job, stage: str) -> None:
        """Hear that a job has come to a stage."""

    def ended(self, job: Job, outcome: Outcome) -> None:
        """Hear that a job has come to its end."""


def run_batch(
    jobs: Sequence[Job],
    settings: Settings,
    sandbox: Sandbox,
    limits: Limits,
    at_once: int,
    watcher: Watcher,
    known: Known = lambda _: None,
) -> Iterator[Outcome]:
    """Run all jobs, `at_once` at a time, and yield each outcome in the order of the jobs as soon as it may.

    A job whose outcome is `known` from before is not run.

    Leaving the iteration early, by an interrupt say, kills what is running; reports that are written stay whole.
    """
    pool = ThreadPoolExecutor(at_once, thread_name_prefix="job")

    def work(job: Job) -> Outcome:
        watcher.begun(job)
        outcome = known(job) or run_job(job, settings, sandbox, limits, lambda stage: watcher.stage(job, stage))[0]
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
