"""Takes jobs from the ledger and brings each to its end; the same for every kind of queue."""

import contextlib
import logging
import os
import secrets
import shutil
import socket
import threading
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any, Final

from analyzers.settings import Settings
from worker.job import Job
from worker.ledger import DEATHS, Entry, Ledger, Result
from worker.limits import Limits
from worker.outcome import Ending, Outcome
from worker.run import report_failure, run_job
from worker.sandbox import Sandbox, Stop
from worker.state import State
from worker.store import DOCUMENT, read_document

log = logging.getLogger(__name__)

BEAT_S: Final = 2.0
STAGE_S: Final = 0.4
LEASE_S: Final = 15.0
"""A worker that has not beaten for this long, by the watcher's own steady clock, is taken for dead."""


class Runner:
    """Works on one job at a time for each thread that calls `work_one`; beats for all of them."""

    def __init__(
        self,
        ledger: Ledger,
        state: State,
        sandbox: Sandbox,
        limits: Limits,
        *,
        beat_s: float = BEAT_S,
        lease_s: float = LEASE_S,
    ) -> None:
        self._ledger, self._state, self._sandbox, self._limits = ledger, state, sandbox, limits
        self._beat_s, self._lease_s = beat_s, lease_s
        self.name = f"{socket.gethostname()}:{os.getpid()}:{secrets.token_hex(3)}"
        self._lock = threading.Lock()
        self._hands: dict[int, tuple[int, Stop]] = {}
        self._stopping = False
        self._seen: dict[tuple[int, int], tuple[int, float]] = {}

    def stop(self) -> None:
        """Give all jobs in hand back to the queue, and take no more."""
        with self._lock:
            self._stopping = True
            hands = list(self._hands.values())
        for _, stop in hands:
            stop.ask()

    def work_one(self) -> bool:
        """Bring the job whose turn it is to its end; False where there is none."""
        if self._stopping:
            return False
        entry = self._ledger.claim(self.name)
        if entry is None:
            return False
        log.info("job %s: %s begins", entry.id, entry.file_name)
        with self._in_hand(entry) as stop:
            self._work(entry, stop)
        return True

    def pulse(self) -> None:
        """Beat once for what is in hand, and take from dead workers what is in theirs. Call every `beat_s` seconds."""
        with self._lock:
            hands = dict(self._hands)
        for number in self._ledger.beat(self.name, {number: fence for number, (fence, _) in hands.items()}):
            hands[number][1].ask()
        self._watch_others(time.monotonic())

    def keep_beating(self, until: threading.Event) -> None:
        """Beat until the event; a ledger that is away for a while is waited for."""
        while not until.wait(self._beat_s):
            try:
                self.pulse()
            except Exception:  # the ledger may be away; the next beat tries again
                log.exception("no beat")

    @contextlib.contextmanager
    def _in_hand(self, entry: Entry) -> Iterator[Stop]:
        stop = Stop()
        with self._lock:
            self._hands[entry.number] = (entry.fence, stop)
            if self._stopping:
                stop.ask()
        try:
            yield stop
        finally:
            with self._lock:
                del self._hands[entry.number]

    def _watch_others(self, moment: float) -> None:
        running = {(each.number, each.fence): each for each in self._ledger.running() if each.owner != self.name}
        self._seen = {key: seen for key, seen in self._seen.items() if key in running}
        for key, entry in running.items():
            beat, since = self._seen.setdefault(key, (entry.beat, moment))
            if beat != entry.beat:
                self._seen[key] = (entry.beat, moment)
            elif moment - since > self._lease_s and self._ledger.release(entry):
                log.warning("job %s: worker %s is gone; the job waits anew", entry.id, entry.owner)

    def _work(self, entry: Entry, stop: Stop) -> None:
        settings = self._state.settings(entry.shop, entry.policy, entry.material, entry.quantity)
        job = self._job(entry, settings)
        if entry.deaths >= DEATHS:
            message = f"Given up: the worker died {entry.deaths} times while it had this model."
            report_failure(job, settings, Ending(how="crashed", message=message))
            self._keep_or_drop(job, self._ledger.set_aside(entry, self._result(job, message, 0.0)))
            return
        outcome = run_job(job, settings, self._sandbox, self._limits, _Stages(self._ledger, entry), stop)
        self._enter(entry, outcome)

    def _enter(self, entry: Entry, outcome: Outcome) -> None:
        """Enter how a job ended; of a run that does not count nothing is kept."""
        ending, job, counts = outcome.ending, outcome.job, False
        if ending.how == "cancelled":
            given_back = self._stopping and self._ledger.give_back(entry)
            log.info("job %s: %s", entry.id, "given back" if given_back else "no longer wanted here")
        elif ending.how == "finished":
            counts = self._ledger.finish(entry, self._result(job, outcome.problem, ending.seconds))
            log.info("job %s: %s is %s", entry.id, entry.file_name, outcome.status)
        elif self._ledger.try_again(entry):
            log.warning("job %s: %s Tried again", entry.id, ending.message)
        else:
            counts = self._ledger.set_aside(entry, self._result(job, ending.message, ending.seconds))
            log.warning("job %s: %s Set aside", entry.id, ending.message)
        self._keep_or_drop(job, counts)

    def _keep_or_drop(self, job: Job, keep: bool) -> None:
        if not keep:
            shutil.rmtree(job.out, ignore_errors=True)

    def _job(self, entry: Entry, settings: Settings) -> Job:
        def path(digest: str | None) -> str | None:
            return None if digest is None else str(self._state.path(digest))

        return Job(
            name=entry.file_name,
            path=str(self._state.path(entry.file_digest)),
            member=entry.member,
            file_name=entry.file_name,
            out=str(self._state.result(f"{entry.result_key}-{entry.number}-{entry.fence}")),  # no other run's
            shop=path(entry.shop),
            policy=path(entry.policy),
            material=entry.material,
            quantity=entry.quantity,
            facts=str(self._state.facts(entry.file_digest, entry.member)),
            digest=settings.digest,
        )

    def _result(self, job: Job, problem: str | None, seconds: float) -> Result:
        document = read_document(Path(job.out) / DOCUMENT)
        return Result(
            folder=Path(job.out).name,
            status=document["status"],
            problem=problem,
            seconds=seconds,
            summary=summary(document),
        )


class _Stages:
    """Notes a job's stages in the ledger, but not more often than anybody would look: each note is a write to disk."""

    def __init__(self, ledger: Ledger, entry: Entry) -> None:
        self._ledger, self._entry = ledger, entry
        self._last = time.monotonic()

    def __call__(self, stage: str) -> None:
        if time.monotonic() - self._last >= STAGE_S:
            self._ledger.stage(self._entry, stage)
            self._last = time.monotonic()


def summary(document: dict[str, Any]) -> dict[str, Any]:
    """Return what lists show of a report: the hardest body's triage and what is counted over all bodies."""
    bodies = document["bodies"]
    if not bodies:
        return {"bodies": 0}
    hardest = max(bodies, key=lambda body: body["triage"]["difficulty"])
    levels = [finding["level"] for body in bodies for finding in body["findings"]]
    return {
        "bodies": len(bodies),
        "bucket": hardest["triage"]["bucket"],
        "difficulty": hardest["triage"]["difficulty"],
        "why": hardest["triage"]["summary"],
        "size_mm": hardest["size_mm"],
        "minutes": sum((body["triage"]["machining_minutes"]["likely"] or 0.0) * body["count"] for body in bodies),
        "setups": max(len(body["setups"]) for body in bodies),
        "errors": levels.count("error"),
        "warnings": levels.count("warning"),
        "questions": sum(len(body["questions"]) for body in bodies),
        "min_internal_radius_mm": _least(body["measures"]["min_internal_radius_mm"] for body in bodies),
        "min_wall_mm": _least(body["measures"]["min_wall_mm"] for body in bodies),
    }


def _least(values: Iterator[float | None]) -> float | None:
    return min((each for each in values if each is not None), default=None)
