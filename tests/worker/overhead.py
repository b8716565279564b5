"""What the service costs beside the analysis itself, and how fast it answers while many jobs wait.

    python -m tests.worker.overhead cost --models DIR --files 300
    python -m tests.worker.overhead answers --jobs 10000
    python -m tests.worker.overhead child --files 300

`cost` counts processor seconds, of all processes together, so that other work on the machine does not enter: once with
every model analysed and its report and page written in one process, once sent through the service (HTTP, queue,
ledger, children; with `--store` over an object store on this machine). `child` counts the same for children that do
nothing, one for each job, from fork to end. `answers` times requests for the first page of the list and small models
sent in.
"""

import argparse
import json
import os
import resource
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterable
from functools import partial
from pathlib import Path
from typing import Any

import httpx
from sqlalchemy import insert

from tests.worker.processes import children
from worker.ledger import Ledger, now
from worker.ledger_tables import JOBS
from worker.limits import Limits
from worker.sandbox import ANALYSIS, Sandbox
from worker.state import State


def bare(models: list[Path], out: Path) -> dict[str, float]:
    """Analyse all models in this process, with documents and pages, as the child of the service does."""
    from analyzers.settings import load_settings
    from worker import analysis
    from worker.job import Job

    digest = load_settings().digest

    def do(number: int, model: Path) -> None:
        job = Job(name=model.name, path=str(model), out=str(out / str(number)), digest=digest)
        analysis.run(job.to_json(), lambda _: None)

    do(0, models[0])
    start, begun = _own(), time.monotonic()
    for number, model in enumerate(models[1:], start=1):
        do(number, model)
    return {"cpu_s": _own() - start, "wall_s": time.monotonic() - begun}


def served(models: list[Path], out: Path, store: bool = False) -> dict[str, float]:
    """Send all models through the service and wait until they are done; say which processes the time was spent in.

    The object store's own time is not counted, nor that of this thread, which plays the sender.
    """
    from tests.api.serving import Server, serving
    from tests.worker.object_store import CREDENTIALS, ObjectStore

    def send(server: Server, number: int, model: Path) -> None:
        answer = server.client.post(f"/api/jobs?file_name={number}.step", content=model.read_bytes())
        assert answer.status_code == 201

    os.environ.update(CREDENTIALS)
    objects = ObjectStore(out) if store else None
    url, others = objects and objects.new_bucket(), set(children(os.getpid()))
    for server in serving(out, call=ANALYSIS, limits=Limits(), most_bytes=1 << 30, workers=1, store=url):
        send(server, 0, models[0])
        _until_idle(server)
        (helper,) = set(children(os.getpid())) - others
        start, begun = (_of_service(), *_of(helper)), time.monotonic()
        for number, model in enumerate(models[1:], start=1):
            send(server, number, model)
        _until_idle(server)
        spent = [now - before for now, before in zip((_of_service(), *_of(helper)), start, strict=True)]
        assert server.service.ledger.counts() == {"done": len(models)}
    if objects is not None:
        objects.close()
    where = dict(zip(("service_s", "helper_s", "children_s"), spent, strict=True))
    return {"cpu_s": sum(spent), "wall_s": time.monotonic() - begun, **where}


def _until_idle(server: Any) -> None:
    while server.service.ledger.counts().keys() & {"waiting", "running"}:
        time.sleep(0.5)


def _own() -> float:
    """Return the processor seconds of this process."""
    return time.process_time()


def _of_service() -> float:
    """Return the processor seconds of this process without those of this thread."""
    return _own() - time.thread_time()


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
    """Return the seconds of both ways, and what the service costs on top, with and without the start of either.

    The first model counts as part of the start: with it each process has loaded what it needs.
    """
    found: dict[str, Any] = {"models": len(models)}
    for way in ("bare", "served"):
        with tempfile.TemporaryDirectory() as folder:
            before = _spent()
            names = "\n".join(map(str, models))
            command = [sys.executable, "-m", "tests.worker.overhead", way, "--out", folder]
            command += ["--store"] if store else []
            done = subprocess.run(command, input=names, text=True, check=True, stdout=subprocess.PIPE)
            found[way] = json.loads(done.stdout) | {"cpu_with_start_s": _spent() - before}
    for kind in ("cpu_s", "cpu_with_start_s", "wall_s"):
        found[f"extra_{kind.removesuffix('_s')}"] = round(found["served"][kind] / found["bare"][kind] - 1, 4)
    rounded = {way: {name: round(value, 2) for name, value in found[way].items()} for way in ("bare", "served")}
    return found | rounded


def _spent() -> float:
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


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
        models = [Path(line) for line in sys.stdin.read().splitlines()]
        spent = bare(models, given.out) if given.what == "bare" else served(models, given.out, given.store)
        sys.stdout.write(json.dumps(spent))
        return
    if given.what == "child":
        sys.stdout.write(json.dumps(child(given.files)) + "\n")
        return
    found = _spread(sorted(path for folder in given.models for path in folder.rglob("*.st*p")), given.files)
    figures = answers(given.jobs) if given.what == "answers" else cost(found, given.store)
    sys.stdout.write(json.dumps(figures) + "\n")


if __name__ == "__main__":
    main()
