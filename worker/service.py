"""The parts of the service put together: ledger, state folder, queue, workers, drop folder."""

import threading
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from types import TracebackType
from typing import Self

from worker.dropfolder import DropFolder
from worker.hooks import Hooks, Teller
from worker.housekeeping import Housekeeping
from worker.intake import MOST_BYTES, Intake, Terms
from worker.later_exports import LaterExports
from worker.ledger import Ledger
from worker.limits import Limits
from worker.queues import CeleryQueue, EmbeddedQueue, WakeUp, celery_app
from worker.registry import Registry
from worker.revisions import Revisions
from worker.runner import Runner
from worker.sandbox import ANALYSIS, Sandbox
from worker.shapes import Shapes
from worker.state import State
from worker.storage import CACHE_BYTES


@dataclass(frozen=True, slots=True, kw_only=True)
class Setup:
    """How the service shall run."""

    folder: Path  # its state
    store: str | None = None  # URL of an object store for files and reports; None = they lie in the folder
    cache_bytes: int = CACHE_BYTES  # how much of it may lie in the folder too
    database: str | None = None  # URL of the ledger; None = SQLite in the folder
    broker: str | None = None  # URL of a Redis that wakes workers elsewhere; None = workers in this process
    workers: int = 1
    limits: Limits = field(default_factory=Limits)
    inbox: Path | None = None
    most_bytes: int = MOST_BYTES
    keep_days: float | None = None  # None = jobs are kept until somebody deletes them
    requests_per_s: float = 0.0  # that one address may make on average; 0 = any number
    call: str = ANALYSIS


class Service:
    """Everything but the faces to the outside; `with` starts and stops it."""

    def __init__(self, setup: Setup) -> None:
        self.setup = setup
        self.state = State(setup.folder, setup.store, setup.cache_bytes)
        self.ledger = Ledger(setup.database or self.state.ledger_url)
        self.registry = Registry(self.ledger)
        self.shapes = Shapes(self.ledger)
        self.revisions = Revisions(self.state, setup.limits)
        self._sandbox = Sandbox(setup.call)
        self._embedded: EmbeddedQueue | None = None
        queue: WakeUp
        if setup.broker is None:
            runner = Runner(self.ledger, self.state, self._sandbox, setup.limits)
            queue = self._embedded = EmbeddedQueue(runner, setup.workers)
        else:
            queue = CeleryQueue(celery_app(setup.broker))
        self.exports = LaterExports(self.state, self._sandbox, setup.limits)
        self.intake = Intake(self.ledger, self.state, queue, setup.most_bytes)
        self.drop = (
            DropFolder(setup.inbox, self.intake, self.ledger, self.state, self.exports, Terms())
            if setup.inbox
            else None
        )
        self.hooks = Hooks(self.ledger)
        self._ending = threading.Event()
        self._told_to_end: Callable[[], bool] = lambda: False
        tidy = Housekeeping(self.ledger, self.state, self.intake, setup.keep_days).keep_tidy
        tasks = [Teller(self.ledger).keep_telling, tidy, *([self.drop.keep_looking] if self.drop else [])]
        self._threads = [threading.Thread(target=each, args=(self._ending,), daemon=True) for each in tasks]

    def ending_when(self, ending: Callable[[], bool]) -> None:
        """Let streams that would go on for ever know when the service ends."""
        self._told_to_end = ending

    @property
    def ending(self) -> bool:
        """True once the service ends."""
        return self._ending.is_set() or self._told_to_end()

    def __enter__(self) -> Self:
        if self._embedded is not None:
            self._sandbox.start()
            self._embedded.start()
        for thread in self._threads:
            thread.start()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, traceback: TracebackType | None
    ) -> None:
        self._ending.set()
        for thread in self._threads:
            thread.join()
        if self._embedded is not None:
            self._embedded.stop()
        self._sandbox.close()
        self.revisions.close()
        self.ledger.close()
