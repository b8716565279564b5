"""A folder to drop models into; works on network shares, and several machines may watch the same one.

Beside the inbox `in` lie `in-results` (a folder for each model), `in-done` (the originals), `in-set-aside` (originals
that could not be analysed, each with a text file that says why). Files are found by looking, not by notices: shares
send none. A file is taken when it has kept its size and time for a while, and by renaming it, which only one can do.
"""

import contextlib
import logging
import secrets
import socket
import threading
import time
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Final

from sqlalchemy import select

from analyzers.errors import SettingsError
from worker.archive import safe_name
from worker.collect import SUFFIXES
from worker.intake import Intake, Terms
from worker.later_exports import ExportFailed, LaterExports
from worker.ledger import Entry, Ledger
from worker.ledger_tables import JOBS
from worker.log import JobLog
from worker.sidecar import find_sidecar, read_sidecar
from worker.state import State, TooLarge
from worker.storage import NotKept
from worker.store import PAGE, copy_whole, write_document, write_whole

log = logging.getLogger(__name__)

LOOK_S: Final = 2.0
QUIET_S: Final = 4.0
"""A file is whole when its size and time have not changed for this long; copying programs write every second or so."""

_TAKEN: Final = ".taken-by-"
_PIECE: Final = 1 << 20


class DropFolder:
    """Takes what is dropped, and puts results and originals beside."""

    def __init__(
        self,
        inbox: Path,
        intake: Intake,
        ledger: Ledger,
        state: State,
        exports: LaterExports,
        terms: Terms,
        *,
        quiet_s: float = QUIET_S,
    ) -> None:
        self.inbox = inbox.absolute()
        self.results, self.done, self.aside = (
            self.inbox.with_name(f"{self.inbox.name}-{each}") for each in ("results", "done", "set-aside")
        )
        self._intake, self._ledger, self._state, self._exports = intake, ledger, state, exports
        self._terms = replace(terms, source=f"drop:{self.inbox}")
        self._quiet_s = quiet_s
        self._seen: dict[Path, tuple[tuple[int, int], float]] = {}
        self._taken = self.inbox / f"{_TAKEN}{socket.gethostname()}"
        for folder in (self.inbox, self.results, self.done, self.aside, self._taken):
            folder.mkdir(parents=True, exist_ok=True)

    def keep_looking(self, until: threading.Event, every_s: float = LOOK_S) -> None:
        """Look until the event; a share or a ledger that is away for a while is waited for."""
        while not until.wait(every_s):
            try:
                self.look()
            except Exception:  # the next look tries again
                log.exception("the drop folder cannot be looked after just now")

    def look(self) -> None:
        """Enter what was taken before an interruption, take what is whole, deliver what has ended."""
        for folder in sorted(self._taken.iterdir()):
            self._enter(folder)
        for path in self._whole(time.monotonic()):
            folder = self._taken / secrets.token_hex(8)
            above = path.relative_to(self.inbox).parent
            target = folder.joinpath(*(safe_name(each) for each in above.parts), safe_name(path.stem) + path.suffix)
            target.parent.mkdir(parents=True)
            try:
                path.rename(target)
            except FileNotFoundError:  # another machine was faster, or somebody took it back
                _remove_empty(folder)
                continue
            if (sidecar := find_sidecar(path)) is not None:
                sidecar.rename(target.with_name(f"{target.name}{sidecar.suffix}"))
            self._enter(folder)
        self._deliver()

    def _whole(self, moment: float) -> list[Path]:
        """Return the models that have not changed for long enough, in the order of their names."""
        now: dict[Path, tuple[tuple[int, int], float]] = {}
        for path in _files(self.inbox):
            try:
                info = path.stat()
            except FileNotFoundError:
                continue
            mark = (info.st_size, info.st_mtime_ns)
            before = self._seen.get(path)
            now[path] = before if before and before[0] == mark else (mark, moment)
        self._seen = now
        return sorted(path for path, (_, since) in now.items() if moment - since >= self._quiet_s)

    def _enter(self, folder: Path) -> None:
        """Make jobs of a taken model and put the original away; what cannot be entered is set aside with the reason."""
        for path in list(_files(folder)):
            name = path.relative_to(folder)
            sidecar = find_sidecar(path)
            try:
                terms = replace(self._terms, idempotency_key=f"drop:{folder.name}")
                terms = terms if sidecar is None else read_sidecar(sidecar, terms)
                with path.open("rb") as file:
                    self._intake.take(iter(lambda: file.read(_PIECE), b""), name.as_posix(), terms)
            except (SettingsError, TooLarge) as error:
                away = _move(path, self.aside / name)
                write_whole(away.with_name(f"{away.name}.reason.txt"), f"{name}: {error}\n")
                log.warning("%s: set aside: %s", name, error)
            else:
                away = _move(path, self.done / name)
            if sidecar is not None:
                _move(sidecar, away.with_name(f"{away.name}{sidecar.suffix}"))
        _remove_empty(folder)

    def _deliver(self) -> None:
        """Put the reports of ended jobs where they are looked for."""
        mine = (JOBS.c.source == self._terms.source, ~JOBS.c.delivered)
        ended = JOBS.c.state.in_(("done", "set_aside", "cancelled"))
        for entry in self._ledger.select(select(JOBS).where(*mine, ended).order_by(JOBS.c.number)):
            if entry.state != "cancelled":
                self._put_result(entry)
            self._ledger.deliver(entry)

    def _put_result(self, entry: Entry) -> None:
        name = Path(entry.file_name)
        folder = self.results / name if entry.member is None else self.results / name / safe_name(entry.member)
        folder.mkdir(parents=True, exist_ok=True)
        with contextlib.suppress(NotKept):
            write_document(folder, self._exports.document(entry))
            copy_whole(self._page(entry), folder / PAGE)  # some have none
        if entry.state == "set_aside" or entry.status == "unreadable":
            reason = self.aside / name if entry.member is None else self.aside / f"{name}.{safe_name(entry.member)}"
            reason.parent.mkdir(parents=True, exist_ok=True)
            write_whole(reason.with_name(f"{reason.name}.reason.txt"), f"{name}: {entry.problem}\n")
            if entry.member is None and (self.done / name).exists():
                _move(self.done / name, self.aside / name)

    def _page(self, entry: Entry) -> Path:
        """Return the page under the name this model was dropped with; where that fails, as its first sender has it."""
        try:
            return self._exports.page(entry)
        except ExportFailed as error:
            JobLog(log, entry).warning("the page bears another sender's file name: %s", error)
            return self._exports.shared_page(entry)


def _files(folder: Path) -> Iterator[Path]:
    """Yield the models below a folder; names that begin with a dot are still being copied, or taken."""
    for path in folder.iterdir():
        if path.name.startswith("."):
            continue
        if path.is_dir() and not path.is_symlink():
            yield from _files(path)
        elif path.suffix.lower() in SUFFIXES and path.is_file():
            yield path


def _move(path: Path, target: Path) -> Path:
    """Move a file; where its place is taken, it gets a number. Return where it is."""
    target.parent.mkdir(parents=True, exist_ok=True)
    number, free = 1, target
    while free.exists():
        number += 1
        free = target.with_name(f"{target.stem}-{number}{target.suffix}")
    return path.rename(free)


def _remove_empty(folder: Path) -> None:
    """Remove a folder and those below it; what is not empty stays."""
    for path in sorted((each for each in folder.rglob("*") if each.is_dir()), reverse=True):
        path.rmdir()
    folder.rmdir()
