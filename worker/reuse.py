"""Reports that need not be made again: same bytes, same settings, same program, still there."""

import hashlib
import json
from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import cache
from importlib.metadata import version
from pathlib import Path
from typing import Final

import analyzers
from worker.job import Job
from worker.outcome import Ending, Outcome
from worker.run import outcome_of
from worker.store import DOCUMENT, MEMORY, PAGE, write_whole

_ALL: Final = ""
"""Under this name, which no folder has, stands what the page over all reports was made from."""

_SOURCES: Final = (".py", ".toml", ".csv", ".j2", ".css", ".js")
_PIECE_BYTES: Final = 1 << 20


@cache
def program_version() -> str:
    """Return the version and a digest of the analysis itself, so that a changed program makes its reports anew."""
    digest = hashlib.sha256()
    root = Path(analyzers.__file__).parent
    for path in sorted(root.rglob("*")):
        if path.suffix in _SOURCES and "node_modules" not in path.parts:
            digest.update(path.read_bytes())
    return f"{version('partsieve')}+{digest.hexdigest()[:12]}"


class Memory:
    """What was made in a folder of reports, and from what. A damaged or foreign memory is an empty one."""

    def __init__(self, folder: Path) -> None:
        self._path = folder / MEMORY
        self._stamps = _read(self._path)
        self._digest_of = cache(_digest)

    def known(self, job: Job) -> Outcome | None:
        """Return the outcome of an earlier run that a new one would only repeat; None = it must be run."""
        folder = Path(job.out)
        if job.refused is not None or self._stamps.get(folder.name) != self._stamp(job):
            return None
        if not (folder / DOCUMENT).exists() or (job.html and not (folder / PAGE).exists()):
            return None
        return replace(outcome_of(job, Ending(how="finished", result={})), reused=True)

    def note(self, outcome: Outcome) -> None:
        """Remember what came out; what was stopped or crashed is tried again next time."""
        name = Path(outcome.job.out).name
        if outcome.ending.how == "finished" and outcome.job.refused is None and not outcome.job.exports:
            self._stamps[name] = self._stamp(outcome.job)
        else:
            self._stamps.pop(name, None)

    def has_overview(self, page: Path, jobs: Sequence[Job]) -> bool:
        """Return True where the page over these reports would be made again from the same reports."""
        stamp = self._of_all(jobs)
        return stamp is not None and self._stamps.get(_ALL) == stamp and page.is_file()

    def note_overview(self, jobs: Sequence[Job]) -> None:
        """Remember what the page over all reports was made from."""
        stamp = self._of_all(jobs)
        if stamp is not None:
            self._stamps[_ALL] = stamp

    def _of_all(self, jobs: Sequence[Job]) -> str | None:
        """Return what the reports of all jobs were made from, in their order; None where that is not known of one."""
        stamps = [(name, self._stamps.get(name)) for name in (Path(job.out).name for job in jobs)]
        if any(stamp is None for _, stamp in stamps):
            return None
        return hashlib.sha256(json.dumps(stamps).encode()).hexdigest()

    def save(self) -> None:
        """Write the memory beside the reports."""
        write_whole(self._path, json.dumps(self._stamps, indent=0, sort_keys=True) + "\n")

    def _stamp(self, job: Job) -> str:
        """Return what the report was made from, as one digest; exports are made anew each time."""
        file = self._digest_of(Path(job.path))
        made_from = [file, job.member, job.name, job.digest, job.html, sorted(job.exports), program_version()]
        return hashlib.sha256(json.dumps(made_from).encode()).hexdigest()


def _digest(path: Path) -> str:
    """Return the digest of a file's bytes; of one that cannot be read, something that no file has."""
    digest = hashlib.sha256()
    try:
        with path.open("rb") as file:
            while piece := file.read(_PIECE_BYTES):
                digest.update(piece)
    except OSError:
        return "unreadable"
    return digest.hexdigest()


def _read(path: Path) -> dict[str, str]:
    try:
        found = json.loads(path.read_text("utf-8"))
    except (OSError, ValueError):
        return {}
    good = isinstance(found, dict) and all(isinstance(each, str) for each in found.values())
    return found if good else {}


Known = Callable[[Job], Outcome | None]
