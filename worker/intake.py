"""How a model becomes jobs, whichever way it came: kept under its digest, its archive's members told apart, entered."""

import hashlib
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from analyzers.errors import UnreadableFile
from analyzers.settings import Settings
from worker.archive import is_archive, members
from worker.ledger import Entry, Ledger, Request
from worker.queues import WakeUp
from worker.state import Kept, State, result_key

MOST_BYTES: Final = 512 << 20
"""Largest model or archive that is taken, if not set otherwise."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Terms:
    """What is said about a model when it is sent in. Shop and policy are digests of kept files."""

    shop: str | None = None
    policy: str | None = None
    material: str | None = None
    quantity: int = 1
    repair: bool = False
    priority: int = 0
    due: str | None = None
    customer: str | None = None
    source: str = "http"
    idempotency_key: str | None = None


class Intake:
    """Takes models in."""

    def __init__(self, ledger: Ledger, state: State, queue: WakeUp, most_bytes: int = MOST_BYTES) -> None:
        self._ledger, self._state, self._queue = ledger, state, queue
        self._most_bytes = most_bytes

    def take(self, pieces: Iterable[bytes], file_name: str, terms: Terms) -> list[Entry]:
        """Keep a file and enter one job for it, or one for each of an archive; it is kept before they are.

        Raises
        ------
        SettingsError : the terms name a shop, policy or material that does not exist
        TooLarge : more bytes came than are taken
        StorageAway : the file cannot be kept just now
        """
        settings = self._settings(terms)
        received = self._state.receive(pieces, self._most_bytes)
        models = _models(received.path)
        with self._state.lock(), self._ledger.apart():
            kept = self._state.place(received)
            requests = [self._request(kept, file_name, each, terms, settings) for each in models]
            entries = [self._ledger.submit(each) for each in requests]
        self._queue.wake(len(entries))
        return entries

    def again(self, entry: Entry, terms: Terms) -> Entry | None:
        """Enter a new job for the model of another; None where that has been struck meanwhile, with its file.

        Raises
        ------
        SettingsError : the terms name a shop, policy or material that does not exist
        """
        settings = self._settings(terms)
        kept = Kept(entry.file_digest, entry.size_bytes, self._state.path(entry.file_digest))
        with self._state.lock(), self._ledger.apart():
            if not self._state.storage.has(kept.path):
                return None
            new = self._ledger.submit(self._request(kept, entry.file_name, entry.member, terms, settings))
        self._queue.wake(1)
        return new

    def remove(self, entry: Entry) -> None:
        """Strike a job from the book; what is kept for it goes before, with the last job that has it.

        Raises
        ------
        StorageAway : it cannot be removed just now; the job has been cancelled and stays in the book
        """
        self._ledger.cancel(entry.id)
        storage = self._state.storage
        with self._state.lock(), self._ledger.apart():
            left = self._ledger.left_by(entry)
            if not left.file:
                storage.remove(self._state.path(entry.file_digest))
                storage.remove(self._state.facts(entry.file_digest).parent)
            if left.folder is not None:
                storage.remove(self._state.result(left.folder))
            self._ledger.strike(entry)

    def keep_settings(self, pieces: Iterable[bytes]) -> Kept:
        """Keep a shop or policy file."""
        received = self._state.receive(pieces, self._most_bytes)
        with self._state.lock(), self._ledger.apart():
            return self._state.place(received)

    def _settings(self, terms: Terms) -> Settings:
        return self._state.settings(terms.shop, terms.policy, terms.material, terms.quantity, terms.repair)

    def _request(self, kept: Kept, file_name: str, member: str | None, terms: Terms, settings: Settings) -> Request:
        key = terms.idempotency_key
        if key is not None and member is not None:
            key = hashlib.sha256(f"{key}\0{member}".encode("utf-8", "surrogatepass")).hexdigest()
        return Request(
            file_name=file_name,
            file_digest=kept.digest,
            size_bytes=kept.size_bytes,
            member=member,
            shop=terms.shop,
            policy=terms.policy,
            material=terms.material,
            quantity=terms.quantity,
            repair=terms.repair,
            material_used=settings.material.name,
            settings_digest=settings.digest,
            result_key=result_key(kept.digest, member, settings.digest),
            priority=terms.priority,
            due=terms.due,
            customer=terms.customer,
            source=terms.source,
            idempotency_key=key,
        )


def _models(path: Path) -> list[str | None]:
    """Return the members of an archive, also those that will be refused by name; [None] for a plain model."""
    if not is_archive(path):
        return [None]
    try:
        return [each.name for each in members(path)]
    except UnreadableFile:  # the analysis will say what is wrong with it
        return [None]
