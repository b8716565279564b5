"""What the service costs beside the analysis itself, and how fast it answers while many jobs wait.

    python -m tests.worker.overhead cost --models DIR --files 300
    python -m tests.worker.overhead answers --jobs 10000
    python -m tests.worker.overhead child --files 300

`cost` counts processor seconds, of all processes together, so that other work on the machine does not enter: once with
every model analysed and its report and page written in one process, once sent through the service (HTTP, queue,
ledger, children; with `--store` over an object store on this machine), in turns of some fifty models, for a machine
that others share is not as fast from one minute to the next. `child` counts the same for children that do
nothing, one for each job, from fork to end. `answers` times requests for the first page of the list and small models
sent in.
"""

import argparse
import contextlib
import itertools
import json
import os
import statistics
import subprocess
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from functools import partial
from pathlib import Path
from typing import Any, Final

import httpx
from sqlalchemy import insert

from tests.api.serving import Server
from tests.worker.processes import children
from worker.ledger import Ledger, now
from worker.ledger_tables import JOBS
from worker.limits import Limits
from worker.sandbox import ANALYSIS, OF_HELPER, Sandbox
from worker.state import State

_TURN: Final = 50


def bare(orders: Iterable[list[Path]], out: Path) -> Iterator[dict[str, float]]:
    """Analyse models in this process, with documents and pages, as a child of the service does; yield what each took.

    The process is as well prepared as the one that forks the children.
    """
    from analyzers.settings import load_settings
    from worker import analysis
    from worker.forker import prepare
    from worker.job import Job

    digest, number = load_settings().digest, itertools.count()
    prepare(analysis.warm_up)
    for models in orders:
        start, begun = _own(), time.monotonic()
        for model in models:
            job = Job(name=model.name, path=str(model), out=str(out / str(next(number))), digest=digest)
            analysis.run(job.to_json(), lambda _: None)
        yield {"cpu_s": _own() - start, "wall_s": time.monotonic() - begun}


def served(orders: Iterable[list[Path]], out: Path, store: bool = False) -> Iterator[dict[str, float]]:
    """Send models through the service, wait until they are done, and yield in which processes the time was spent.

    The object store's own time is not counted, nor that of this thread, which plays the sender.
    """
    from tests.api.serving import serving
    from tests.worker.object_store import CREDENTIALS, ObjectStore

    os.environ.update(CREDENTIALS)
    objects = ObjectStore(out) if store else None
    url, others = objects and objects.new_bucket(), set(children(os.getpid()))
    for server in serving(out, call=ANALYSIS, limits=Limits(), most_bytes=1 << 30, workers=1, store=url):
        number = itertools.count()
        for models in orders:
            start, begun = _served_by(others), time.monotonic()
            for model in models:
                answer = server.client.post(f"/api/jobs?file_name={next(number)}.step", content=model.read_bytes())
                assert answer.status_code == 201
            _until_idle(server)
            spent = [now - before for now, before in zip(_served_by(others), start, strict=True)]
            where = dict(zip(("service_s", "helper_s", "children_s"), spent, strict=True))
            yield {"cpu_s": sum(spent), "wall_s": time.monotonic() - begun, **where}
        assert server.service.ledger.counts().keys() == {"done"}
    if objects is not None:
        objects.close()


def _served_by(others: set[int]) -> tuple[float, float, float]:
    """Return the processor seconds of the service without this thread, of its helper, and of the helper's children."""
    own = _own() - time.thread_time()
    helpers = set(children(os.getpid())) - others
    if not helpers:
        return own, 0.0, 0.0
    (helper,) = helpers
    used, used_by_dead = _of(helper)
    return own, used, used_by_dead + sum(sum(_of(each)) for each in children(helper))


def _until_idle(server: Server) -> None:
    while server.service.ledger.counts().keys() & {"waiting", "running"}:
        time.sleep(0.1)


def _own() -> float:
    """Return the processor seconds of this process."""
    return time.process_time()


def _of(pid: int) -> tuple[float, float]:
    """Return the processor seconds of a process and of its children that have ended (proc(5))."""
    numbers = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()
    user, system, child_user, child_system = (int(each) / os.sysconf("SC_CLK_TCK") for each in numbers[11:15])
    return user + system, child_user + child_system


def child(number: int) -> dict[str, Any]:
    """Return the processor milliseconds of a child that does nothing, with what its parents do for it."""
    with Sandbox("worker.sandbox:echo") as sandbox:
        assert sandbox.run({}, Limits(files=1)).how == "finished"  # all have loaded what they need
        (helper,) = children(os.getpid())
        start = _own() + sum(_of(helper))
        for _ in range(number):
            sandbox.run({}, Limits(files=1))
        return {"children": number, "cpu_ms_each": round(1000 * (_own() + sum(_of(helper)) - start) / number, 1)}


def cost(models: list[Path], store: bool) -> dict[str, Any]:
    """Return the seconds of both ways, taken in turns, and what the service costs on top.

    The first model of either way is not counted: with it each process has loaded what it needs.
    """
    turns = [models[start : start + _TURN] for start in range(0, len(models), _TURN)]
    found = {way: Counter[str]() for way in ("bare", "served")}
    with contextlib.ExitStack() as stack:
        ways = {way: stack.enter_context(_started(way, store)) for way in found}
        for number, turn in enumerate([models[:1], *turns]):
            for way, process in ways.items():
                took = _ordered(process, turn)
                found[way].update(took if number else {})
    extra = {name: round(found["served"][name] / found["bare"][name] - 1, 4) for name in ("cpu_s", "wall_s")}
    rounded = {way: {name: round(value, 2) for name, value in took.items()} for way, took in found.items()}
    return {"models": len(models), **rounded, "extra": extra}


@contextlib.contextmanager
def _started(way: str, store: bool) -> Iterator[subprocess.Popen[str]]:
    """Start a process that takes orders; it ends when no more can come."""
    with tempfile.TemporaryDirectory() as folder:
        command = [sys.executable, "-m", "tests.worker.overhead", way, "--out", folder]
        command += ["--store"] if store else []
        with subprocess.Popen(
            command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, env={**os.environ, **OF_HELPER}
        ) as process:
            yield process


def _ordered(process: subprocess.Popen[str], models: list[Path]) -> dict[str, float]:
    """Have a process do some models and return what it took."""
    assert process.stdin is not None
    assert process.stdout is not None
    process.stdin.write(json.dumps([str(each) for each in models]) + "\n")
    process.stdin.flush()
    took: dict[str, float] = json.loads(process.stdout.readline())
    return took


def answers(jobs: int) -> dict[str, Any]:
    """Return the 50th and 95th percentile of both requests in milliseconds, with so many jobs waiting."""
    from tests.api.serving import serving

    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        state = State(folder / "state")
        ledger = Ledger(state.ledger_url)
        fixed = {"file_digest": "d", "size_bytes": 1, "quantity": 1, "settings_digest": "s", "priority": 0}
        rest = {"source": "http", "state": "waiting", "stage": "", "submitted_at": now(), "touched": 1}
        rows = [
            {**fixed, **rest, "id": f"{number:032x}", "file_name": f"{number}.step", "result_key": str(number)}
            for number in range(jobs)
        ]
        with ledger.change() as connection:
            connection.execute(insert(JOBS), rows)
        ledger.close()
        found: dict[str, Any] = {"jobs": jobs}
        for server in serving(folder, workers=0):
            found["list"] = _timed([partial(server.client.get, "/api/jobs?sort=difficulty&limit=100")] * 200)
            found["submit"] = _timed([partial(server.send, f"fine {number}") for number in range(200)])
        return found


def _timed(requests: Iterable[Callable[[], httpx.Response]]) -> dict[str, float]:
    times = []
    for request in requests:
        start = time.perf_counter()
        assert request().is_success
        times.append((time.perf_counter() - start) * 1000)
    marks = statistics.quantiles(times, n=20)
    return {"p50_ms": round(marks[9], 1), "p95_ms": round(marks[18], 1)}


def _spread(models: list[Path], number: int) -> list[Path]:
    """Return so many of the models, evenly over the list."""
    number = min(number, len(models))
    return [models[i * len(models) // number] for i in range(number)]


def main() -> None:
    """Print the figures."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("what", choices=["cost", "answers", "child", "bare", "served"])
    parser.add_argument("--models", type=Path, nargs="*", default=[], help="folders of STEP models")
    parser.add_argument("--files", type=int, default=300)
    parser.add_argument("--jobs", type=int, default=10_000)
    parser.add_argument("--store", action="store_true", help="keep files in an object store, which runs here too")
    parser.add_argument("--out", type=Path)
    given = parser.parse_args()
    if given.what in ("bare", "served"):
        orders = ([Path(each) for each in json.loads(line)] for line in sys.stdin)
        for took in bare(orders, given.out) if given.what == "bare" else served(orders, given.out, given.store):
            sys.stdout.write(json.dumps(took) + "\n")
            sys.stdout.flush()
        return
    if given.what == "child":
        sys.stdout.write(json.dumps(child(given.files)) + "\n")
        return
    found = _spread(sorted(path for folder in given.models for path in folder.rglob("*.st*p")), given.files)
    figures = answers(given.jobs) if given.what == "answers" else cost(found, given.store)
    sys.stdout.write(json.dumps(figures) + "\n")


if __name__ == "__main__":
    main()
