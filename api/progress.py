"""How a batch goes on, for people, on stderr: a bar on a terminal, plain lines elsewhere, nothing when quiet."""

import os
import sys
import threading
from contextlib import AbstractContextManager
from pathlib import Path
from types import TracebackType
from typing import Self

import click
from rich.console import Console
from rich.progress import BarColumn, MofNCompleteColumn, Progress, TaskID, TextColumn, TimeElapsedColumn

from worker.batch import Watcher
from worker.job import Job
from worker.outcome import Outcome

MOST_NAMES = 3


class Show(Watcher, AbstractContextManager["Show"]):
    """Says nothing but errors: the quiet way, and what the other ways have in common."""

    def __init__(self, total: int) -> None:
        self._total = total
        self._done = 0
        self._lock = threading.Lock()

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, traceback: TracebackType | None
    ) -> None:
        """Leave the terminal as it was."""

    def begun(self, job: Job) -> None:
        """Take note of a job that begins."""

    def stage(self, job: Job, stage: str) -> None:
        """Take note of a job's stage."""

    def ended(self, job: Job, outcome: Outcome) -> None:
        """Count the job and say in one line what went wrong."""
        with self._lock:
            self._done += 1
            if outcome.problem is not None and not outcome.analysed:
                self.say(f"{job.name}: {outcome.problem.removeprefix(f'{Path(job.path).name}: ')}")

    def say(self, line: str) -> None:
        """Print one line for people."""
        click.echo(line, err=True)


class Lines(Show):
    """One line for each finished model."""

    def ended(self, job: Job, outcome: Outcome) -> None:
        """Say how far the batch is."""
        super().ended(job, outcome)
        width = len(str(self._total))
        self.say(f"[{self._done:{width}}/{self._total}] {job.name}: {outcome.status} ({outcome.ending.seconds:.1f} s)")


class Bar(Show):
    """A bar with the models under way and their stages."""

    def __init__(self, total: int) -> None:
        super().__init__(total)
        self._under_way: dict[str, str] = {}
        console = Console(stderr=True)
        self._progress = Progress(
            BarColumn(),
            MofNCompleteColumn(),
            TimeElapsedColumn(),
            TextColumn("{task.fields[names]}", markup=False),
            console=console,
            transient=True,
        )
        self._task: TaskID = self._progress.add_task("", total=total, names="")

    def __enter__(self) -> Self:
        self._progress.start()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, traceback: TracebackType | None
    ) -> None:
        self._progress.stop()

    def begun(self, job: Job) -> None:
        """Show the model."""
        self.stage(job, "start")

    def stage(self, job: Job, stage: str) -> None:
        """Show the model's stage."""
        with self._lock:
            self._under_way[job.out] = f"{job.name.rpartition('/')[2]} ({stage})"
            self._refresh()

    def ended(self, job: Job, outcome: Outcome) -> None:
        """Move the bar on."""
        super().ended(job, outcome)
        with self._lock:
            self._under_way.pop(job.out, None)
            self._refresh()

    def say(self, line: str) -> None:
        """Print above the bar."""
        self._progress.console.print(line, markup=False, highlight=False, soft_wrap=True)

    def _refresh(self) -> None:
        names = list(self._under_way.values())
        more = f" and {len(names) - MOST_NAMES} more" if len(names) > MOST_NAMES else ""
        self._progress.update(self._task, completed=self._done, names=", ".join(names[:MOST_NAMES]) + more)


def for_stderr(total: int, quiet: bool) -> Show:
    """Return the way that suits where stderr goes."""
    if quiet:
        return Show(total)
    plain = not sys.stderr.isatty() or bool(os.environ.get("NO_COLOR")) or os.environ.get("TERM") == "dumb"
    return Lines(total) if plain else Bar(total)
