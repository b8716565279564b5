"""How many workers one ledger serves: the real queue, ledger and state folder; the analysis is stubbed, and only here.

    python -m tests.worker.simulate --workers 1 10 100 --seconds 0.35 --jobs 400 --database sqlite

Each worker "analyses" by waiting as long as an analysis was measured to take, then leaves a real report's files. So a
machine of two cores shows what a hundred workers ask of the ledger. `wanted` is what so many workers would do if the
ledger cost nothing; where `done` falls behind it, the ledger (or this machine's two cores) is what limits.
"""

import argparse
import json
import shutil
import sys
import tempfile
import time
from contextlib import ExitStack
from pathlib import Path
from typing import Any, Final, cast

from tests.worker.postgres import Postgres
from worker.ledger import Ledger, Request
from worker.limits import Limits
from worker.outcome import Ending
from worker.queues import EmbeddedQueue
from worker.runner import Runner
from worker.sandbox import Sandbox
from worker.state import State

THREADS: Final = 4
"""Workers of one machine: they share one beat."""


class Stub:
    """Stands where a sandbox stands; takes its time and no processor."""

    def __init__(self, seconds: float, report: Path) -> None:
        self._seconds, self._report = seconds, report

    def run(self, job: dict[str, Any], *_: object) -> Ending:
        """Wait, then leave a copy of a real report."""
        time.sleep(self._seconds)
        shutil.copytree(self._report, job["out"], dirs_exist_ok=True)
        return Ending(how="finished", result={}, seconds=self._seconds)


def simulate(
    folder: Path, database: str | None, workers: int, jobs: int, seconds: float, report: Path
) -> dict[str, Any]:
    """Return what came out of one run."""
    state = State(folder)
    ledger = Ledger(database or state.ledger_url)
    settings = state.settings(None, None, None, 1, False).digest
    for number in range(jobs):
        asked = {"file_name": f"{number}.step", "file_digest": f"{number:064x}", "size_bytes": 1}
        ledger.submit(Request(**asked, settings_digest=settings, result_key=f"{number:064x}"))  # type: ignore[arg-type]
    stub = cast(Sandbox, Stub(seconds, report))
    sizes = [min(THREADS, workers - begun) for begun in range(0, workers, THREADS)]
    queues = [EmbeddedQueue(Runner(ledger, state, stub, Limits()), size) for size in sizes]
    spent, start = time.process_time(), time.monotonic()
    for each in queues:
        each.start()
    while ledger.counts().get("done", 0) < jobs:
        time.sleep(0.05)
    took, cpu = time.monotonic() - start, time.process_time() - spent
    for each in queues:
        each.stop()
    ledger.close()
    wanted = min(workers / seconds, jobs / seconds)
    return {
        "workers": workers,
        "jobs": jobs,
        "wanted_per_s": round(wanted, 1),
        "done_per_s": round(jobs / took, 1),
        "ledger_cpu_ms_a_job": round(1000 * cpu / jobs, 1),
    }


def main() -> None:
    """Print one line for each number of workers."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("--workers", type=int, nargs="+", default=[1, 10, 100])
    parser.add_argument("--jobs", type=int, default=400)
    parser.add_argument("--seconds", type=float, required=True, help="what an analysis was measured to take")
    parser.add_argument("--report", type=Path, required=True, help="folder of a real report")
    parser.add_argument("--database", choices=["sqlite", "postgresql"], default="sqlite")
    given = parser.parse_args()
    with ExitStack() as ends:
        folder = Path(ends.enter_context(tempfile.TemporaryDirectory()))
        server = None
        if given.database == "postgresql":
            server = Postgres(folder / "server")
            server.start()
            ends.callback(server.kill)
        for number, workers in enumerate(given.workers):
            url = server.new_database() if server else None
            jobs = min(given.jobs, 40 * workers)
            found = simulate(folder / str(number), url, workers, jobs, given.seconds, given.report)
            sys.stdout.write(json.dumps({"database": given.database, **found}) + "\n")
            sys.stdout.flush()


if __name__ == "__main__":
    main()
