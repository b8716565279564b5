"""A fault campaign: real models, and killers that strike at random; afterwards the books must balance.

    python -m tests.worker.campaign --jobs 520 --bad 20 --seconds 3 --models fixtures/parts

Children, forking helpers and workers are killed with SIGKILL, and the broker with all that it holds; some of the files
crash or hang. What has to come out: one ending for each job, counted by a trigger in the database, none lost, and the
same report from each model as from a run that nobody disturbs.

A file that hangs ends when it has been let alone for its whole time limit, twice; so the limit has to be shorter than
most pauses between two strikes, or such files end only after the ten deaths that a job is allowed.
"""

import argparse
import json
import os
import random
import shutil
import signal
import sys
import tempfile
import threading
import time
from collections import Counter
from collections.abc import Iterator, Sequence
from contextlib import ExitStack, closing, nullcontext, suppress
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any, Final

from sqlalchemy import create_engine, func, select, text

from tests.worker.postgres import Postgres
from tests.worker.processes import CALL as STAND_IN
from tests.worker.processes import Redis, Workers, children
from worker import analysis
from worker.child import Tell
from worker.intake import Intake, Terms
from worker.ledger import DEATHS, Ledger, with_driver
from worker.ledger_tables import JOBS, RESULTS
from worker.queues import CeleryQueue, WakeUp, celery_app
from worker.state import State
from worker.store import DOCUMENT, read_document

CALL: Final = "tests.worker.campaign:act"
SECONDS: Final = 3.0
QUEUES: Final = ("embedded", "celery", "celery-postgresql")
"""In one process each with SQLite; over Redis with SQLite; over Redis with PostgreSQL."""

_TRIGGER: Final = """
CREATE TRIGGER count_endings AFTER UPDATE OF state ON jobs WHEN NEW.state IN ('done', 'set_aside', 'cancelled')
BEGIN INSERT INTO endings VALUES (NEW.id); END
"""
_POSTGRES_FUNCTION: Final = """
CREATE FUNCTION count_ending() RETURNS trigger LANGUAGE plpgsql AS
'BEGIN INSERT INTO endings VALUES (NEW.id); RETURN NEW; END'
"""
_POSTGRES_TRIGGER: Final = """
CREATE TRIGGER count_endings AFTER UPDATE OF state ON jobs FOR EACH ROW
WHEN (NEW.state IN ('done', 'set_aside', 'cancelled')) EXECUTE FUNCTION count_ending()
"""


def act(job: dict[str, Any], tell: Tell) -> dict[str, Any]:
    """Analyse the model, unless it is one that crashes or hangs the geometry kernel."""
    head = Path(job["path"]).read_bytes()[:5]
    if head == b"crash":
        tell({"stage": "load"})
        os.kill(os.getpid(), signal.SIGSEGV)
    if head == b"hang ":
        tell({"stage": "load"})
        signal.pthread_sigmask(signal.SIG_BLOCK, signal.Signals)
        while True:
            time.sleep(3600)
    return analysis.run(job, tell)


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """What is sent in, and how hard it is disturbed."""

    models: Sequence[Path]  # none = a stand-in for the analysis that takes 0.3 s
    jobs: int
    bad: int
    broker: bool
    postgres: bool = False  # for the ledger instead of SQLite
    processes: int = 2
    threads: int = 1
    seed: int = 1
    pause_s: tuple[float, float] = (1.0, 7.0)  # between two strikes; loading OpenCascade anew takes seconds
    seconds: float = SECONDS  # time limit of a model

    def contents(self) -> list[tuple[str, bytes]]:
        """Return name and bytes of each model, in any order; no two have the same bytes, so that each is analysed."""
        found = list(self._contents())
        random.Random(self.seed).shuffle(found)
        return found

    def _contents(self) -> Iterator[tuple[str, bytes]]:
        for number in range(self.bad):
            kind = ("crash", "hang ")[number % 2]
            yield f"{kind.strip()} {number}.step", f"{kind}{number}".encode()
        for number in range(self.jobs - self.bad):
            if not self.models:
                yield f"slow {number}.step", f"slow {number}".encode()
                continue
            model = self.models[number % len(self.models)]
            copy = b"HEADER; /* copy %d */" % number
            yield f"{number} {model.name}", model.read_bytes().replace(b"HEADER;", copy, 1)


@dataclass(slots=True)
class Outcome:
    """What has come out of one run."""

    endings: Counter[str]  # how many jobs ended how often, in which state
    jobs: int
    results: int
    reports: dict[str, dict[str, Any]] = field(repr=False)  # by file name
    set_aside: set[str] = field(repr=False)
    worn_out: set[str] = field(repr=False)  # those of them that were struck down as often as a job may be
    strikes: Counter[str] = field(default_factory=Counter)
    interruptions: int = 0
    seconds: float = 0.0

    def told(self) -> dict[str, Any]:
        """Return the figures."""
        names = ("endings", "jobs", "results", "strikes", "interruptions")
        counts = {"worn_out": len(self.worn_out), "seconds": round(self.seconds, 1)}
        return {**{name: getattr(self, name) for name in names}, **counts}


class Killers:
    """Strike at random until told to stop."""

    def __init__(self, plan: Plan, workers: Workers, redis: Redis | None, ledger: Ledger) -> None:
        self._plan, self._workers, self._redis, self._ledger = plan, workers, redis, ledger
        self._chance = random.Random(plan.seed)
        self._stop = threading.Event()
        self._thread = threading.Thread(target=self._strike_on)
        self.strikes: Counter[str] = Counter()

    def __enter__(self) -> "Killers":
        self._thread.start()
        return self

    def __exit__(self, *_: object) -> None:
        self._stop.set()
        self._thread.join()

    def _strike_on(self) -> None:
        whom = ["child"] * 6 + ["helper"] + ["worker"] * 2 + (["broker"] * 2 if self._redis else [])
        while not self._stop.wait(self._chance.uniform(*self._plan.pause_s)):
            self._strike(self._chance.choice(whom))
            self._let_work(time.monotonic() + 2 * self._plan.seconds)

    def _let_work(self, until: float) -> None:
        """Start what is missing; wait until a job has ended, or until a hanging one could have, and another is in hand.

        So the strikes keep step with the work, however slow the machine is, and those who only load are no aim.
        """
        before = self._ended()
        self._workers.see_to_it()
        while not self._stop.wait(0.02):
            if (self._ended() > before or time.monotonic() > until) and self._find_busy():
                return
            self._workers.see_to_it()

    def _ended(self) -> int:
        counts = self._ledger.counts()
        return counts.get("done", 0) + counts.get("set_aside", 0)

    def _strike(self, whom: str) -> None:
        if whom == "broker" and self._redis is not None:
            self._redis.kill()
            time.sleep(self._chance.uniform(0, 1))
            self._redis.start()
            self.strikes[whom] += 1
            return
        if busy := self._find_busy():
            with suppress(ProcessLookupError):
                os.kill(self._chance.choice(busy)[whom], signal.SIGKILL)
                self.strikes[whom] += 1

    def _find_busy(self) -> list[dict[str, int]]:
        """Return each worker that has a job in hand, with its helper and its child."""
        workers = [each.pid for each in self._workers.processes if each.poll() is None]
        return [
            {"worker": worker, "helper": helper, "child": child}
            for worker in workers
            for helper in children(worker)
            for child in children(helper)
        ]


def run(plan: Plan, folder: Path, disturbed: bool) -> Outcome:
    """Send everything in, wait until all is ended, and balance the books."""
    with ExitStack() as servers:
        redis = None
        if plan.broker:
            redis = Redis(folder)
            redis.start()
            servers.callback(redis.kill)
        state = State(folder / "state")
        url = state.ledger_url
        if plan.postgres:
            postgres = Postgres(folder / "postgres")
            postgres.start()
            servers.callback(postgres.kill)
            url = postgres.new_database()
        with closing(Ledger(url)) as ledger:
            _count_endings(url)
            return _run(plan, state, ledger, Place(url, redis), disturbed)


@dataclass(frozen=True, slots=True)
class Place:
    """Where the ledger is, and the broker if there is one."""

    database: str
    redis: Redis | None


def _run(plan: Plan, state: State, ledger: Ledger, place: Place, disturbed: bool) -> Outcome:
    redis = place.redis
    start = time.monotonic()
    queue: WakeUp = CeleryQueue(celery_app(redis.url)) if redis is not None else _Nobody()
    workers = Workers(
        state.folder,
        plan.processes,
        plan.threads,
        redis.url if redis else None,
        CALL if plan.models else STAND_IN,
        plan.seconds,
        place.database,
    )
    with workers, Killers(plan, workers, redis, ledger) if disturbed else nullcontext() as killers:
        intake = Intake(ledger, state, queue)
        for name, content in plan.contents():
            intake.take([content], name, Terms())
        while ledger.counts().keys() & {"waiting", "running"}:
            time.sleep(0.3)
    outcome = _balance(state, ledger)
    outcome.strikes = killers.strikes if killers is not None else Counter()
    outcome.seconds = time.monotonic() - start
    return outcome


class _Nobody:
    def wake(self, jobs: int) -> None:
        """Wake nobody: the workers of the embedded queue look by themselves."""


def _count_endings(url: str) -> None:
    """Have the database itself count how often each job ends."""
    postgres = url.startswith("postgresql")
    engine = create_engine(with_driver(url))
    with engine.begin() as connection:
        connection.execute(text("CREATE TABLE endings (id VARCHAR)"))
        for each in (_POSTGRES_FUNCTION, _POSTGRES_TRIGGER) if postgres else (_TRIGGER,):
            connection.execute(text(each))
    engine.dispose()


def _balance(state: State, ledger: Ledger) -> Outcome:
    with ledger.look() as connection:
        ended: Counter[str] = Counter(connection.execute(text("SELECT id FROM endings")).scalars())
        results = connection.execute(select(func.count()).select_from(RESULTS)).scalar_one()
    entries = ledger.select(select(JOBS))
    reports = {}
    for entry in entries:
        assert entry.folder is not None, f"job {entry.id} has no result"
        document = read_document(state.result(entry.folder) / DOCUMENT)
        del document["timings_s"]
        reports[entry.file_name] = document
    return Outcome(
        endings=Counter(f"{each.state}, ended {ended[each.id]} times" for each in entries),
        jobs=len(entries),
        results=results,
        reports=reports,
        set_aside={each.file_name for each in entries if each.state == "set_aside"},
        worn_out={each.file_name for each in entries if each.state == "set_aside" and each.deaths >= DEATHS - 1},
        interruptions=sum(each.deaths for each in entries),
    )


def differing(quiet: Outcome, disturbed: Outcome) -> list[str]:
    """Return the names of the models whose reports are not the same in both runs.

    A hanging file that was struck down too often is set aside for that, and its report gives that reason.
    """
    return [
        name
        for name, document in quiet.reports.items()
        if name not in disturbed.worn_out and document != disturbed.reports.get(name)
    ]


def failures(plan: Plan, quiet: Outcome, disturbed: Outcome) -> list[str]:
    """Return what is wrong, in words; [] where all is well."""
    good = plan.jobs - plan.bad
    expected = {f"done, ended {1} times": good, f"set_aside, ended {1} times": plan.bad}
    found = []
    for name, each in (("quiet", quiet), ("disturbed", disturbed)):
        if dict(each.endings) != {key: value for key, value in expected.items() if value}:
            found.append(f"{name} run: endings {dict(each.endings)}, expected {expected}")
        if each.results != good:
            found.append(f"{name} run: {each.results} results, expected {good}")
        if len(each.set_aside) != plan.bad or not all(one.startswith(("crash", "hang")) for one in each.set_aside):
            found.append(f"{name} run: set aside were {sorted(each.set_aside)}")
    if others := differing(quiet, disturbed):
        found.append(f"{len(others)} reports differ: {', '.join(others[:5])}")
    return found


def by_queue(plan: Plan, name: str) -> Plan:
    """Return the plan for one of `QUEUES`."""
    return replace(plan, broker=name != "embedded", postgres=name == "celery-postgresql")


def main() -> None:
    """Run a campaign and print its figures; exit status 1 where the books do not balance."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("--queue", choices=QUEUES, action="append", help="default: all")
    parser.add_argument("--jobs", type=int, default=520)
    parser.add_argument("--bad", type=int, default=20)
    parser.add_argument("--seconds", type=float, default=SECONDS, help="time limit of a model")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--models", type=Path, nargs="*", default=[], help="folders of STEP models; none = a stand-in")
    parser.add_argument("--pause", type=float, nargs=2, default=(1.0, 7.0), help="seconds between two strikes")
    given = parser.parse_args()
    models = sorted(path for folder in given.models for path in folder.rglob("*.st*p"))
    plan = Plan(models=models, jobs=given.jobs, bad=given.bad, broker=False, seed=given.seed, seconds=given.seconds)
    plan = replace(plan, pause_s=tuple(given.pause))
    folder = Path(tempfile.mkdtemp(prefix="campaign-"))
    wrong: list[str] = []
    try:
        quiet = run(plan, _new(folder / "quiet"), disturbed=False)
        _say("quiet", quiet, [])
        for name in given.queue or QUEUES:
            disturbed = run(by_queue(plan, name), _new(folder / name), disturbed=True)
            found = failures(plan, quiet, disturbed)
            _say(name, disturbed, found)
            wrong += found
    finally:
        shutil.rmtree(folder)
    sys.exit(1 if wrong else 0)


def _say(name: str, outcome: Outcome, wrong: list[str]) -> None:
    sys.stdout.write(json.dumps({"run": name, **outcome.told(), "wrong": wrong}) + "\n")
    sys.stdout.flush()


def _new(folder: Path) -> Path:
    folder.mkdir()
    return folder


if __name__ == "__main__":
    main()
