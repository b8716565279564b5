"""`partsieve serve` and `partsieve worker` as real processes, from their documented command lines."""

import contextlib
import json
import os
import shutil
import signal
import subprocess
import sys
import urllib.error
import urllib.request
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.worker.processes import ROOT, Redis, free_port, wait_until
from worker.ledger import Ledger
from worker.state import State

SECONDS = 180.0


@contextlib.contextmanager
def command(folder: Path, *arguments: str) -> Iterator["subprocess.Popen[bytes]"]:
    """Run the program in a folder; it is ended if the test has not done so."""
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    with (folder / f"{arguments[0]}.log").open("ab") as log:
        process = subprocess.Popen([sys.executable, "-m", "api", *arguments], cwd=folder, env=environment, stderr=log)
    try:
        yield process
    finally:
        process.kill()
        process.wait()


def states(port: int) -> dict[str, int]:
    """Return the counts of jobs; {} while nobody answers."""
    with contextlib.suppress(urllib.error.URLError, ConnectionError):
        with urllib.request.urlopen(f"http://127.0.0.1:{port}/api/overview", timeout=20) as answer:
            told: dict[str, Any] = json.load(answer)
        return dict(told["states"])
    return {}


def ready(port: int) -> bool:
    """Return whether the service takes jobs."""
    try:
        with urllib.request.urlopen(f"http://127.0.0.1:{port}/ready", timeout=20) as answer:
            return bool(answer.status == 200)
    except (urllib.error.URLError, ConnectionError):
        return False


@pytest.mark.parametrize("way", ["alone", "with-workers", "with-store"])
def test_what_is_dropped_is_reported(way: str, parts: Path, request: pytest.FixtureRequest, tmp_path: Path) -> None:
    """On one machine with nothing else, and with a Redis and two workers; SIGTERM ends each with status 0.

    With an object store each worker has a folder of its own; nothing is shared but the store and the database.
    """
    port, redis, options = free_port(), Redis(tmp_path), ["--database", f"sqlite:///{tmp_path}/ledger.sqlite"]
    if way != "alone":
        if not Redis.installed():
            pytest.skip("no redis-server on this machine")
        redis.start()
        options += ["--broker", redis.url]
    if way == "with-store":
        options += ["--store", request.getfixturevalue("object_store").new_bucket()]
    with contextlib.ExitStack() as stack:
        stack.callback(redis.kill)
        serve = ["serve", *options, "--state", "state", "--inbox", "in", "--port", str(port), "--log", "json"]
        running = [stack.enter_context(command(tmp_path, *serve))]
        for number in range(0 if way == "alone" else 2):
            own = f"state-{number}" if way == "with-store" else "state"
            running.append(stack.enter_context(command(tmp_path, "worker", *options, "--state", own, "--jobs", "1")))
        wait_until("ready", lambda: ready(port), SECONDS)
        for stem in ("lid_plate", "link_bar"):
            shutil.copy(parts / f"{stem}.step", tmp_path / "in")
        wait_until("both done", lambda: states(port) == {"done": 2}, SECONDS)
        found = tmp_path / "in-results"
        wait_until("both delivered", lambda: len(list(found.rglob("report.json"))) == 2, SECONDS)
        for process in reversed(running):
            process.send_signal(signal.SIGTERM)
            assert process.wait(SECONDS) == 0
    lines = [line for line in (tmp_path / "serve.log").read_text().splitlines() if line.startswith("{")]
    assert all(json.loads(line)["level"] in {"info", "warning"} for line in lines)


def test_a_service_told_to_end_gives_back_what_it_has_in_hand(parts: Path, tmp_path: Path) -> None:
    """The job waits, nobody is blamed, and nobody else's job is touched."""
    port = free_port()
    with command(tmp_path, "serve", "--state", "state", "--port", str(port), "--jobs", "1") as process:
        wait_until("ready", lambda: ready(port), SECONDS)
        for quantity in range(1, 6):
            address = f"http://127.0.0.1:{port}/api/jobs?file_name=a.step&quantity={quantity}"
            content = (parts / "press_assembly.step").read_bytes()
            urllib.request.urlopen(urllib.request.Request(address, content, method="POST"), timeout=20).close()
        wait_until("one begun", lambda: "running" in states(port), SECONDS)
        process.send_signal(signal.SIGTERM)
        assert process.wait(SECONDS) == 0
    ledger = Ledger(State(tmp_path / "state").ledger_url)
    counts = ledger.counts()
    ledger.close()
    assert set(counts) <= {"waiting", "done"}
    assert sum(counts.values()) == 5
    assert counts["waiting"] >= 1


def test_a_port_that_is_taken_is_said(tmp_path: Path) -> None:
    """One line, and a status that is not 0."""
    redis = Redis(tmp_path)
    if not Redis.installed():
        pytest.skip("no redis-server on this machine")
    redis.start()
    try:
        with command(tmp_path, "serve", "--state", "state", "--port", str(redis.port)) as process:
            assert process.wait(SECONDS) == 1
    finally:
        redis.kill()
    assert f"cannot serve on 127.0.0.1:{redis.port}" in (tmp_path / "serve.log").read_text()
