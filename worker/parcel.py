"""What goes into a child's own folder with a job and what comes out of it: the child itself reaches nothing else.

Its folder has four below it: `given`, to read only; `kept`, copies of files that it may make anew; `results`; and
`own`, where it stands and keeps what is temporary. The process that forks carries the files to and fro.
"""

import contextlib
import os
import shutil
import stat
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final

from worker.storage import remove_below
from worker.store import write_bytes

GIVEN, KEPT, RESULTS, OWN = "given", "kept", "results", "own"
_FOLDERS: Final = (GIVEN, KEPT, RESULTS, OWN)


@dataclass(slots=True)
class Parcel:
    """The files of one job in the folder of a child; each method returns the path that holds for the child."""

    folder: Path
    _kept: list[tuple[Path, Path, tuple[int, int] | None]] = field(default_factory=list)
    _results: Path | None = None
    _doubles: int = 0

    def give(self, path: str) -> str:
        """Give the child a file to read, under its own name; one that is not there it will not find either."""
        place = self.folder / GIVEN / Path(path).name
        if place.exists():
            self._doubles += 1
            place = self.folder / GIVEN / str(self._doubles) / place.name
            place.parent.mkdir()
        source = Path(os.path.realpath(path))
        if source.is_file():
            _link_or_copy(source, place)
        return str(place)

    def keep(self, path: str) -> str:
        """Give the child a copy of a file, if there is one; what it writes in its place is carried back."""
        place, outside = self.folder / KEPT / str(len(self._kept)), Path(path)
        with contextlib.suppress(FileNotFoundError):
            shutil.copyfile(outside, place)
        self._kept.append((place, outside, _written(place)))
        return str(place)

    def collect(self, folder: str) -> str:
        """Carry what the child leaves among its results into a folder, which is made if need be."""
        self._results = Path(folder)
        return str(self.folder / RESULTS)

    def deliver(self) -> None:
        """Carry out what the child left; plain files only, for a child that went wrong may leave anything."""
        if self._results is not None:
            for place in sorted((self.folder / RESULTS).iterdir()):
                if not place.name.startswith("."):  # half written
                    _carry(place, self._results / place.name)
        for place, outside, before in self._kept:
            if _written(place) not in {before, None}:
                _carry(place, outside)


def lay_out(folder: Path) -> None:
    """Make the folders below a child's own, empty."""
    for name in _FOLDERS:
        (folder / name).mkdir()


def clear(folder: Path) -> None:
    """Remove what a job left; the folders stay, for the fence around the child was built on them."""
    for name in _FOLDERS:
        with os.scandir(folder / name) as found:
            for each in found:
                remove_below(Path(each.path))


def _link_or_copy(source: Path, place: Path) -> None:
    """Put a file there without copying it where both lie on one file system that can do so."""
    try:
        place.hardlink_to(source)
    except OSError:
        shutil.copyfile(source, place)


def _written(path: Path) -> tuple[int, int] | None:
    """Return a mark that changes with a file's content; None where there is no plain file."""
    with contextlib.suppress(FileNotFoundError):
        found = path.lstat()
        return (found.st_ino, found.st_mtime_ns) if stat.S_ISREG(found.st_mode) else None
    return None


def _carry(place: Path, outside: Path) -> None:
    """Move a plain file so that no reader sees a half (rename(2): in one step); anything else stays."""
    if _written(place) is None:
        return
    outside.parent.mkdir(parents=True, exist_ok=True)
    try:
        place.replace(outside)
    except OSError:  # another file system
        with os.fdopen(os.open(place, os.O_RDONLY | os.O_NOFOLLOW), "rb") as file:
            write_bytes(outside, file.read())
