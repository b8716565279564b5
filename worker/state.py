"""What the service keeps, each in its place in one folder: models, shop and policy files, results; under digests."""

import fcntl
import hashlib
import os
import tempfile
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from importlib.metadata import version
from pathlib import Path
from typing import Final

import analyzers
from analyzers.errors import SettingsError
from analyzers.model.stored import FORMAT
from analyzers.rules import known_limits
from analyzers.settings import Settings, load_settings
from worker.storage import CACHE_BYTES, NotKept, open_storage

_SOURCES: Final = frozenset({".py", ".toml", ".csv", ".j2", ".css", ".js"})


def _version() -> str:
    """Return the version of the analysis: the package's, and a digest of its source, which may change between two."""
    root = Path(analyzers.__file__).parent
    digest = hashlib.sha256()
    for path in sorted(each for each in root.rglob("*") if each.suffix in _SOURCES):
        digest.update(f"{path.relative_to(root)}\0".encode() + path.read_bytes())
    return f"{version('partsieve')}+{digest.hexdigest()[:12]}"


ANALYSIS_VERSION: Final = _version()


_MOST_SETTINGS: Final = 256
"""How many settings are kept in memory; files under a digest never change, so what was read once holds."""


class TooLarge(Exception):
    """More bytes came than may be kept."""


@dataclass(frozen=True, slots=True)
class Kept:
    """One file in the state folder."""

    digest: str  # sha256
    size_bytes: int
    path: Path


class State:
    """The folder; any number of threads and processes may use it at once.

    `storage` keeps what lies in it: by the folder itself, or, where `store` is the URL of one, in an object store.
    """

    def __init__(self, folder: Path, store: str | None = None, cache_bytes: int = CACHE_BYTES) -> None:
        self.folder, self.store = folder.absolute(), store
        for name in ("files", "results", "facts", "incoming"):
            (self.folder / name).mkdir(parents=True, exist_ok=True)
        self.storage = open_storage(store, self.folder, cache_bytes)
        self._settings: dict[tuple[str | None, str | None, str | None, int, bool], Settings] = {}

    @property
    def ledger_url(self) -> str:
        """Where the book of jobs is, unless a database is named."""
        return f"sqlite:///{self.folder / 'ledger.sqlite'}"

    @contextmanager
    def lock(self) -> Iterator[None]:
        """Keep others from adding to or removing from what is kept, in threads, processes and on other machines.

        Held only for moments: while a received file is put in its place and its jobs are entered, or while a job is
        struck and its file removed. So no file goes that a new job has just found there.
        """
        with (self.folder / "lock").open("ab") as file:
            fcntl.flock(file, fcntl.LOCK_EX)
            yield

    def receive(self, pieces: Iterable[bytes], most_bytes: int) -> Kept:
        """Write what comes in pieces to a place of its own and send it on; `place` puts it where it belongs.

        Raises
        ------
        TooLarge : more than `most_bytes` came; nothing is left of it
        StorageAway : it could not be sent on; nothing is left of it here
        """
        digest, size = hashlib.sha256(), 0
        descriptor, name = tempfile.mkstemp(dir=self.folder / "incoming")
        try:
            with os.fdopen(descriptor, "wb") as file:
                for piece in pieces:
                    size += len(piece)
                    if size > most_bytes:
                        raise TooLarge(f"more than {most_bytes} bytes")
                    digest.update(piece)
                    file.write(piece)
                file.flush()
                os.fsync(descriptor)
            self.storage.send(self.path(digest.hexdigest()), Path(name))
        except BaseException:
            Path(name).unlink(missing_ok=True)
            raise
        return Kept(digest.hexdigest(), size, Path(name))

    def place(self, received: Kept) -> Kept:
        """Put a received file under its digest; the same bytes are kept once. Call with the lock held.

        Where the same file was removed since this one was received, it is sent on once more.
        """
        path = self.path(received.digest)
        path.parent.mkdir(exist_ok=True)
        received.path.replace(path)
        if not self.storage.has(path):
            self.storage.send(path)
        return replace(received, path=path)

    def path(self, digest: str) -> Path:
        """Return where the file of that digest lies, if it is kept."""
        return self.folder / "files" / digest[:2] / digest

    def facts(self, digest: str, member: str | None = None, repair: bool = False) -> Path:
        """Return where this version of the analysis keeps what it measured; all of one file in one folder.

        `repair`: it was measured after a repair, if one was needed.
        """
        parts = (member or "", ANALYSIS_VERSION, str(FORMAT), *(("repair",) if repair else ()))
        name = hashlib.sha256("\0".join(parts).encode("utf-8", "surrogatepass")).hexdigest()
        return self.folder / "facts" / digest[:2] / digest / name

    def result(self, folder: str) -> Path:
        """Return the folder of one run's result."""
        return self.folder / "results" / folder[:2] / folder

    def settings(
        self, shop: str | None, policy: str | None, material: str | None, quantity: int, repair: bool
    ) -> Settings:
        """Return the settings made of kept files.

        Raises
        ------
        SettingsError : a file is wrong, or not kept here
        """
        key = (shop, policy, material, quantity, repair)
        if key not in self._settings:
            if len(self._settings) >= _MOST_SETTINGS:
                self._settings.clear()
            self._settings[key] = self._load_settings(*key)
        return self._settings[key]

    def _load_settings(
        self, shop: str | None, policy: str | None, material: str | None, quantity: int, repair: bool
    ) -> Settings:
        try:
            paths = [None if each is None else self.storage.fetch(self.path(each)) for each in (shop, policy)]
        except NotKept as error:
            raise SettingsError(f"{error}; expected a settings file that was sent before") from error
        return load_settings(paths[0], paths[1], material, quantity, known_limits(), repair=repair)


def result_key(file_digest: str, member: str | None, settings_digest: str) -> str:
    """Return the key under which the same bytes, settings and version of the analysis find their one result."""
    parts = (file_digest, member or "", settings_digest, ANALYSIS_VERSION)
    return hashlib.sha256("\0".join(parts).encode("utf-8", "surrogatepass")).hexdigest()
