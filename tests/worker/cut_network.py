"""Three network namespaces on one machine: Redis and PostgreSQL in one, a worker in each of two others.

    sudo python -m tests.worker.cut_network --models fixtures/parts --jobs 24

One worker's line is cut while it has a job in hand, for longer than a worker may be silent, and mended again. Every
job has to end once, and the one that was in hand is done by the other worker. The folder of files and reports is the
same disk for all: only broker and database are reached over the line. Needs root and ip(8).
"""

import argparse
import contextlib
import json
import os
import subprocess
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

from sqlalchemy import create_engine, text

from tests.worker.postgres import Postgres
from tests.worker.processes import Redis, wait_until
from worker.intake import Intake, Terms
from worker.ledger import Ledger, with_driver
from worker.queues import CeleryQueue, celery_app
from worker.runner import LEASE_S
from worker.state import State

STORE, WORKERS = "partsieve-store", ("partsieve-one", "partsieve-two")
HOME = "10.77.1.1"
_TRIGGER = (
    "CREATE TABLE endings (id VARCHAR)",
    "CREATE FUNCTION count_ending() RETURNS trigger LANGUAGE plpgsql AS "
    "$$ BEGIN INSERT INTO endings VALUES (NEW.id); RETURN NEW; END $$",
    "CREATE TRIGGER count_endings AFTER UPDATE OF state ON jobs FOR EACH ROW "
    "WHEN (NEW.state IN ('done', 'set_aside', 'cancelled')) EXECUTE FUNCTION count_ending()",
)


def ip(*arguments: str) -> None:
    """Call ip(8)."""
    subprocess.run(["ip", *arguments], check=True)


@contextlib.contextmanager
def namespaces() -> Iterator[None]:
    """Make the three, with a bridge in the first that the other two hang on; remove them afterwards."""
    try:
        for name in (STORE, *WORKERS):
            ip("netns", "add", name)
            ip("-n", name, "link", "set", "lo", "up")
        ip("-n", STORE, "link", "add", "bridge", "type", "bridge")
        ip("-n", STORE, "addr", "add", f"{HOME}/16", "dev", "bridge")
        ip("-n", STORE, "link", "set", "bridge", "up")
        for number, name in enumerate(WORKERS):
            ip("-n", STORE, "link", "add", f"line{number}", "type", "veth", "peer", "name", "line", "netns", name)
            ip("-n", STORE, "link", "set", f"line{number}", "master", "bridge", "up")
            ip("-n", name, "addr", "add", f"10.77.2.{number + 1}/16", "dev", "line")
            ip("-n", name, "link", "set", "line", "up")
        yield
    finally:
        for name in (STORE, *WORKERS):
            subprocess.run(["ip", "netns", "del", name], check=False, stderr=subprocess.DEVNULL)


def inside(models: list[Path], jobs: int, folder: Path) -> dict[str, object]:
    """Run broker, database and the two workers; cut, mend, count. Called in the first namespace."""
    redis, postgres = Redis(folder, HOME), Postgres(folder / "postgres", HOME)
    redis.start()
    postgres.start()
    url, state = postgres.new_database(), State(folder / "state")
    ledger = Ledger(url)
    engine = create_engine(with_driver(url))
    with engine.begin() as connection:
        for statement in _TRIGGER:
            connection.execute(text(statement))
    workers = [_worker(name, state, redis.url, url, folder) for name in WORKERS]
    try:
        intake = Intake(ledger, state, CeleryQueue(celery_app(redis.url)))
        for number in range(jobs):
            model = models[number % len(models)]
            intake.take([model.read_bytes()], model.name, Terms(quantity=1 + number // len(models)))
        hit = _cut_one_in_work(ledger, workers[0])
        time.sleep(2 * LEASE_S)
        ip("link", "set", "line0", "up")
        wait_until("all ended", lambda: not ledger.counts().keys() & {"waiting", "running"}, 900)
        with engine.connect() as connection:
            ended = Counter(connection.execute(text("SELECT id FROM endings")).scalars())
            owners = connection.execute(text("SELECT count(*) FROM results")).scalar_one()
        struck = ledger.get(hit)
        return {
            "states": ledger.counts(),
            "ended_once": sum(number == 1 for number in ended.values()),
            "ended_more_often": sum(number > 1 for number in ended.values()),
            "results": owners,
            "in_hand_when_cut": struck and {"state": struck.state, "deaths": struck.deaths, "fence": struck.fence},
        }
    finally:
        for each in workers:
            each.kill()
        engine.dispose()
        ledger.close()
        postgres.kill()
        redis.kill()


def _worker(name: str, state: State, broker: str, database: str, folder: Path) -> "subprocess.Popen[bytes]":
    command = ["ip", "netns", "exec", name, sys.executable, "-m", "api", "worker", "--state", str(state.folder)]
    command += ["--broker", broker, "--database", database, "--jobs", "1"]
    return subprocess.Popen(command, stderr=(folder / f"{name}.log").open("wb"))


def _cut_one_in_work(ledger: Ledger, worker: "subprocess.Popen[bytes]") -> str:
    """Wait until the worker has a job in hand, cut its line, and return the job's id."""
    found: list[str] = []

    def in_hand() -> bool:
        found[:] = [each.id for each in ledger.running() if f":{worker.pid}:" in str(each.owner)]
        return bool(found)

    wait_until("the worker has a job in hand", in_hand, 120)
    ip("link", "set", "line0", "down")
    return found[0]


def main() -> None:
    """Make the namespaces, go into the first, print what came out; exit status 1 where a job was lost or doubled."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("--models", type=Path, required=True, help="folder of STEP models")
    parser.add_argument("--jobs", type=int, default=24)
    parser.add_argument("--inside", action="store_true", help=argparse.SUPPRESS)
    given = parser.parse_args()
    if not given.inside:
        with namespaces():
            again = [sys.executable, "-m", "tests.worker.cut_network", *sys.argv[1:], "--inside"]
            sys.exit(subprocess.run(["ip", "netns", "exec", STORE, *again], check=False).returncode)
    with tempfile.TemporaryDirectory(prefix="cut-") as name:
        figures = inside(sorted(given.models.rglob("*.st*p")), given.jobs, Path(name))
    sys.stdout.write(json.dumps(figures) + "\n")
    os._exit(0 if (figures["ended_once"], figures["ended_more_often"]) == (given.jobs, 0) else 1)


if __name__ == "__main__":
    main()
