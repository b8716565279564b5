"""Where models, facts and results are kept, whichever machine asks: one interface, two kinds.

All of them are worked on as files below the state folder. A storage makes a place in that folder hold what was kept
under it, and makes what lies there outlive the machine. Where machines share the folder there is nothing to do; an
object store (`worker.s3`) has the folder as its cache.
"""

import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Final, Protocol

from analyzers.errors import SettingsError

CACHE_BYTES: Final = 10 << 30
"""How much of an object store a machine keeps at hand, if not set otherwise."""


class StorageAway(OSError):
    """What is kept cannot be reached just now; nobody's fault, and worth another try."""


class NotKept(Exception):
    """A file that should be kept is not there, or is not what was kept: says which and where."""


class Storage(Protocol):
    """Keeps files under their places in the state folder. Every method may raise `StorageAway`."""

    def fetch(self, path: Path) -> Path:
        """Have the file that is kept under this place lie there, and return it.

        Raises
        ------
        NotKept : there is none, or its bytes are not those that were kept
        """

    def send(self, path: Path, source: Path | None = None) -> None:
        """Keep a file under a place; it lies there, or at `source` still. It appears whole or not at all."""

    def has(self, path: Path) -> bool:
        """Return whether a file is kept under this place."""

    def remove(self, path: Path) -> None:
        """Remove what is kept under a place, with all below it; what is not there is no error."""

    def kept(self, top: Path) -> Iterator[tuple[Path, float]]:
        """Yield the folders two below this one, each with the time (s since 1970) at which something came into it."""

    def check(self) -> None:
        """Make sure that files can be kept and fetched."""

    def tidy(self) -> None:
        """Make room where copies take more than they may."""


class SharedFolder:
    """The state folder itself, on this machine's disk or on a share of several: what lies there is kept."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder

    def fetch(self, path: Path) -> Path:
        """See that the file is there."""
        if not path.exists():
            if not (self._folder / "incoming").is_dir():
                raise StorageAway(f"{self._folder}: found no state folder; is the share mounted?")
            raise NotKept(f"{path.relative_to(self._folder)}: found no such file in the state folder")
        return path

    def send(self, path: Path, source: Path | None = None) -> None:
        """Nothing is to be done."""

    def has(self, path: Path) -> bool:
        """Return whether it is there."""
        return path.exists()

    def remove(self, path: Path) -> None:
        """Remove it."""
        remove_below(path)

    def kept(self, top: Path) -> Iterator[tuple[Path, float]]:
        """Yield what is there."""
        for path in top.glob("*/*"):
            if (moment := changed_at(path)) is not None:
                yield path, moment

    def check(self) -> None:
        """Write a file and remove it."""
        probe = self._folder / "incoming" / ".ready"
        probe.touch()
        probe.unlink(missing_ok=True)

    def tidy(self) -> None:
        """There are no copies."""


def open_storage(url: str | None, folder: Path, cache_bytes: int = CACHE_BYTES) -> Storage:
    """Return the storage of a URL; of None, the folder itself.

    Raises
    ------
    SettingsError : the URL is none of a storage
    StorageAway : it cannot be reached, or not be written to
    """
    if url is None:
        return SharedFolder(folder)
    try:
        from worker.s3 import S3, Address
    except ModuleNotFoundError as error:
        raise SettingsError(f"--store needs {error.name}: pip install 'partsieve[s3]'") from error
    return S3(Address.read(url), folder, cache_bytes)


def remove_below(path: Path) -> None:
    """Remove a file, or a folder with all below it; what is not there is no error."""
    if path.is_dir() and not path.is_symlink():
        shutil.rmtree(path, ignore_errors=True)
    else:
        path.unlink(missing_ok=True)


def changed_at(path: Path) -> float | None:
    """Return when a file or folder was last changed; None where it is gone."""
    try:
        return path.stat().st_mtime
    except FileNotFoundError:
        return None
