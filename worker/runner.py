"""Takes jobs from the ledger and brings each to its end; the same for every kind of queue."""

import contextlib
import errno
import logging
import os
import secrets
import shutil
import socket
import threading
import time
from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path
from typing import Any, Final, TypeVar

from sqlalchemy.exc import DBAPIError

from analyzers.errors import SettingsError
from analyzers.settings import Settings
from worker.job import Job
from worker.ledger import DEATHS, Entry, Ledger, Result
from worker.limits import Limits
from worker.log import JobLog
from worker.outcome import Ending, Outcome
from worker.run import report_failure, run_job
from worker.sandbox import Sandbox, Stop
from worker.shapes import shapes_of
from worker.state import State
from worker.storage import NotKept, StorageAway
from worker.store import DOCUMENT, read_document
from worker.summary import summary

log = logging.getLogger(__name__)

_T = TypeVar("_T")

BEAT_S: Final = 2.0
STAGE_S: Final = 1.0
"""A job's stage is noted at most this often: each note is a write to disk, and small parts are done before."""

ROOM_BYTES: Final = 256 << 20
"""Free disk space below which no job is begun: a report is below 10 MiB, most models are below 100 MiB."""

TIDY_S: Final = 600.0

_PAUSES_S: Final = (0.5, 1.0, 2.0, 4.0, 8.0, 15.0, 30.0)

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
        self._complained = False
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
        if self._stopping or not self._room():
            return False
        entry = self._ledger.claim(self.name)
        if entry is None:
            return False
        JobLog(log, entry).info("%s begins", entry.file_name)
        with self._in_hand(entry) as stop:
            try:
                self._work(entry, stop)
            except OSError as error:  # no fault of the model: a disk that is full, a share or store that is away
                JobLog(log, entry).warning("waits anew: %s", error)
                shutil.rmtree(self._out(entry), ignore_errors=True)
                self._ledger.give_back(entry)
                return False
        return True

    def _room(self) -> bool:
        """Return False while the disk is all but full: jobs wait until there is room again."""
        room = shutil.disk_usage(self._state.folder).free >= ROOM_BYTES
        if not room and not self._complained:
            log.warning("%s: less than %d MiB are free; jobs wait", self._state.folder, ROOM_BYTES >> 20)
        self._complained = not room
        return room

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

    def keep_tidy(self, until: threading.Event) -> None:
        """Make room among what lies here until the event; in the service itself the housekeeping does it."""
        while not until.wait(TIDY_S):
            try:
                self._state.storage.tidy()
            except Exception:  # the store may be away; the next round tries again
                log.exception("no tidying just now")

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
        with self._lock:
            mine = {(number, fence) for number, (fence, _) in self._hands.items()}
        running = {key: each for each in self._ledger.running() if (key := (each.number, each.fence)) not in mine}
        self._seen = {key: seen for key, seen in self._seen.items() if key in running}
        for key, entry in running.items():
            beat, since = self._seen.setdefault(key, (entry.beat, moment))
            if beat != entry.beat:
                self._seen[key] = (entry.beat, moment)
            elif moment - since > self._lease_s and self._ledger.release(entry):
                JobLog(log, entry).warning("worker %s is gone; the job waits anew", entry.owner)

    def _work(self, entry: Entry, stop: Stop) -> None:
        if entry.deaths >= DEATHS:
            self._give_up(entry, f"Given up: the worker died {entry.deaths} times while it had this model.")
            return
        try:
            settings = settings_of(self._state, entry)
            job = job_at_hand(self._state, entry, settings, self._out(entry))
        except (NotKept, SettingsError) as error:  # trying again would find the same
            self._give_up(entry, f"Given up: {error}.")
            return
        facts = self._state.facts(entry.file_digest, entry.member, settings.repair)
        known = facts.exists()
        stages = _Stages(self._ledger, entry)
        outcome, document = run_job(job, settings, self._sandbox, self._limits, stages, stop)
        if not known and facts.exists():
            self._patiently(entry, lambda: self._state.storage.send(facts))
        self._enter(entry, outcome, document)

    def _give_up(self, entry: Entry, message: str) -> None:
        """Set a job aside without having run it, with a report that says why."""
        settings = self._state.settings(None, None, None, entry.quantity, entry.repair)
        job = job_of(self._state, entry, settings, self._out(entry))
        report_failure(job, settings, Ending(how="crashed", message=message))
        document = read_document(Path(job.out) / DOCUMENT)
        self._keep_or_drop(job, self._settle(self._ledger.set_aside, entry, _result(job, document, message, 0.0)))
        JobLog(log, entry).warning("%s Set aside", message)

    def _enter(self, entry: Entry, outcome: Outcome, document: dict[str, Any]) -> None:
        """Enter how a job ended; of a run that does not count nothing is kept."""
        ending, job, counts = outcome.ending, outcome.job, False
        if ending.how == "cancelled":
            given_back = self._stopping and self._ledger.give_back(entry)
            JobLog(log, entry).info("%s", "given back" if given_back else "no longer wanted here")
        elif ending.how == "finished":
            finish = partial(self._ledger.finish, shapes=shapes_of(document))
            counts = self._settle(finish, entry, _result(job, document, outcome.problem, ending.seconds))
            JobLog(log, entry).info("%s is %s", entry.file_name, outcome.status)
        elif os.strerror(errno.ENOSPC) in ending.message:
            raise OSError(errno.ENOSPC, ending.message)
        elif ending.how == "killed" and self._ledger.interrupted(entry):
            JobLog(log, entry).warning("%s Waits anew", ending.message)
        elif ending.how != "killed" and self._ledger.try_again(entry):
            JobLog(log, entry).warning("%s Tried again", ending.message)
        else:
            result = _result(job, document, ending.message, ending.seconds)
            counts = self._settle(self._ledger.set_aside, entry, result)
            JobLog(log, entry).warning("%s Set aside", ending.message)
        self._keep_or_drop(job, counts)

    def _keep_or_drop(self, job: Job, keep: bool) -> None:
        if not keep:
            self._state.storage.remove(Path(job.out))

    def _out(self, entry: Entry) -> Path:
        """Return the folder for this run's result, which is no other run's."""
        return self._state.result(f"{entry.result_key}-{entry.number}-{entry.fence}")

    def _settle(self, write: Callable[[Entry, Result], bool], entry: Entry, result: Result) -> bool:
        """Keep what came out, then write it down; False where it does not count."""

        def settle() -> bool:
            for path in sorted(self._out(entry).iterdir()):
                if path.is_file() and not path.is_symlink():  # a child that went wrong may leave anything
                    self._state.storage.send(path)
            return write(entry, result)

        return self._patiently(entry, settle)

    def _patiently(self, entry: Entry, what: Callable[[], _T]) -> _T:
        """Do something with what came out; a ledger or store that is away is waited for, since the work is done."""
        for pause in _PAUSES_S:
            try:
                return what()
            except (DBAPIError, StorageAway) as error:
                reason = error.orig if isinstance(error, DBAPIError) else error
                JobLog(log, entry).warning("ledger or store is away, tried again in %g s: %s", pause, reason)
            time.sleep(pause)
        return what()


def job_at_hand(state: State, entry: Entry, settings: Settings, out: Path) -> Job:
    """Return what a child is asked to do for a job of the ledger, with all that it needs lying in the state folder.

    Raises
    ------
    NotKept : the model, or a settings file, is kept no more or damaged
    """
    for digest in (entry.file_digest, entry.shop, entry.policy):
        if digest is not None:
            state.storage.fetch(state.path(digest))
    with contextlib.suppress(NotKept):  # most have not been measured before
        state.storage.fetch(state.facts(entry.file_digest, entry.member, settings.repair))
    return job_of(state, entry, settings, out)


def settings_of(state: State, entry: Entry) -> Settings:
    """Return what a job of the ledger is judged by.

    Raises
    ------
    SettingsError : a file is wrong, or not kept here
    """
    return state.settings(entry.shop, entry.policy, entry.material, entry.quantity, entry.repair)


def job_of(state: State, entry: Entry, settings: Settings, out: Path) -> Job:
    """Return what a child is asked to do for a job of the ledger."""

    def path(digest: str | None) -> str | None:
        return None if digest is None else str(state.path(digest))

    return Job(
        name=entry.file_name,
        path=str(state.path(entry.file_digest)),
        member=entry.member,
        file_name=entry.file_name,
        out=str(out),
        shop=path(entry.shop),
        policy=path(entry.policy),
        material=entry.material,
        quantity=entry.quantity,
        repair=settings.repair,
        facts=str(state.facts(entry.file_digest, entry.member, settings.repair)),
        digest=settings.digest,
    )


def _result(job: Job, document: dict[str, Any], problem: str | None, seconds: float) -> Result:
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
