"""What is old is removed: jobs past their time with all that is kept for them, and what interruptions left behind."""

import datetime
import logging
import threading
import time
from typing import Final

from sqlalchemy import select

from worker.intake import Intake
from worker.ledger import Ledger
from worker.ledger_tables import JOBS, RESULTS
from worker.state import State
from worker.storage import changed_at, remove_below

log = logging.getLogger(__name__)

EVERY_S: Final = 600.0
LEFTOVER_S: Final = 24 * 3600.0
"""Half-received files and results of runs that did not count are looked at for a day, then removed."""

_AT_ONCE: Final = 200
_ENDED: Final = ("done", "set_aside", "cancelled")


class Housekeeping:
    """Removes; `keep_days` None keeps all jobs.

    The time is the clock's when this process began, and runs on by the steady clock: a clock that is put forward by
    accident removes nothing early.
    """

    def __init__(self, ledger: Ledger, state: State, intake: Intake, keep_days: float | None) -> None:
        self._ledger, self._state, self._intake, self._keep_days = ledger, state, intake, keep_days
        self._began = datetime.datetime.now(datetime.UTC)
        self._began_steady = time.monotonic()

    def keep_tidy(self, until: threading.Event) -> None:
        """Tidy now and then until the event."""
        while not until.wait(EVERY_S):
            try:
                self.tidy()
            except Exception:  # the next round tries again
                log.exception("no tidying just now")

    def tidy(self) -> int:
        """Remove what is past its time; return how many jobs that were."""
        moment = self._began + datetime.timedelta(seconds=time.monotonic() - self._began_steady)
        removed = 0
        if self._keep_days is not None:
            limit = (moment - datetime.timedelta(days=self._keep_days)).isoformat(timespec="milliseconds")
            old = select(JOBS).where(JOBS.c.state.in_(_ENDED), JOBS.c.ended_at < limit).limit(_AT_ONCE)
            while entries := self._ledger.select(old):
                for entry in entries:
                    self._intake.remove(entry)
                removed += len(entries)
            log.info("%d jobs were past their %g days", removed, self._keep_days) if removed else None
        self._leftovers(moment.timestamp())
        self._state.storage.tidy()
        return removed

    def _leftovers(self, moment: float) -> None:
        with self._ledger.look() as connection:
            used = set(connection.execute(select(JOBS.c.folder)).scalars())
            used |= set(connection.execute(select(RESULTS.c.folder)).scalars())
        for path in self._state.folder.glob("incoming/*"):
            if moment - (changed_at(path) or moment) > LEFTOVER_S:
                remove_below(path)
        for path, changed in self._state.storage.kept(self._state.folder / "results"):
            if path.name not in used and moment - changed > LEFTOVER_S:
                self._state.storage.remove(path)
