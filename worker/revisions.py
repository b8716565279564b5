"""Two models of the service laid onto one another, in a child of their own, when somebody asks for it.

What comes out is kept among the results under the two models and the settings: asked again, it is there. No job owns
it, so the housekeeping removes it after a day.
"""

import hashlib
import json
import threading
from pathlib import Path
from typing import Final

from worker.ledger import Entry
from worker.limits import Limits
from worker.runner import job_at_hand, settings_of
from worker.sandbox import COMPARE, Sandbox
from worker.state import ANALYSIS_VERSION, State
from worker.storage import NotKept
from worker.store import COMPARISON, COMPARISON_PAGE

WAIT_S: Final = 20.0
"""How long a request waits while another comparison is made: one at a time, however many ask."""


_WRITTEN: Final = (COMPARISON, COMPARISON_PAGE)  # in this order


class Busy(Exception):
    """Another comparison is being made; ask again."""


class NotCompared(Exception):
    """Two models could not be compared: says why."""


class Revisions:
    """Compares; the process that its children are forked from starts with the first comparison."""

    def __init__(self, state: State, limits: Limits) -> None:
        self._state, self._limits = state, limits
        self._sandbox = Sandbox(COMPARE)
        self._turn = threading.Lock()

    def close(self) -> None:
        """End what is under way."""
        self._sandbox.close()

    def compared(self, old: Entry, new: Entry) -> Path:
        """Return the folder with comparison.json and comparison.html; both are judged by the settings of the new one.

        Raises
        ------
        Busy : another comparison has taken too long to wait for
        NotCompared : the child that did it crashed, or took too long
        NotKept : a model is kept no more
        """
        settings = settings_of(self._state, new)
        folder = self._state.result(_key(old, new, settings.digest))
        if self._at_hand(folder):
            return folder
        if not self._turn.acquire(timeout=WAIT_S):
            raise Busy("another comparison is being made")
        try:
            if not self._at_hand(folder):
                pair = (("old", old), ("new", new))
                jobs = {word: job_at_hand(self._state, each, settings, folder).to_json() for word, each in pair}
                ending = self._sandbox.run(jobs, self._limits)
                if ending.how != "finished":
                    raise NotCompared(ending.message)
                for name in _WRITTEN:
                    self._state.storage.send(folder / name)
        finally:
            self._turn.release()
        return folder

    def _at_hand(self, folder: Path) -> bool:
        try:
            for name in reversed(_WRITTEN):
                self._state.storage.fetch(folder / name)
        except NotKept:
            return False
        return True


def _key(old: Entry, new: Entry, settings_digest: str) -> str:
    """Return the name of the folder: what the two models are and what they are called, in this order."""
    models = [(each.file_digest, each.member, each.file_name) for each in (old, new)]
    return hashlib.sha256(json.dumps([models, settings_digest, ANALYSIS_VERSION]).encode()).hexdigest()
