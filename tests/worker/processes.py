"""Brokers and workers as real processes, to be killed."""

import contextlib
import shutil
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path
from types import TracebackType
from typing import Self

from worker.state import State

CALL = "tests.worker.study:study"
ROOT = Path(__file__).parents[2]


def wait_until(what: str, condition: Callable[[], bool], seconds: float = 120.0) -> None:
    """Wait for a condition to become true; long, for a machine may have much else to do."""
    end = time.monotonic() + seconds
    while not condition():
        assert time.monotonic() < end, f"still not: {what}"
        time.sleep(0.02)


def free_port() -> int:
    """Return a port of this machine that nobody listens on."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        return int(free.getsockname()[1])


def children(pid: int) -> list[int]:
    """Return the children of a process (proc(5)); [] where it is gone."""
    with contextlib.suppress(OSError):
        lists = Path(f"/proc/{pid}/task").glob("*/children")
        return [int(each) for path in lists for each in path.read_text().split()]
    return []


class Redis:
    """A Redis server on a free port of this machine, that keeps nothing on disk."""

    def __init__(self, folder: Path, address: str = "127.0.0.1") -> None:
        self._folder, self._address = folder, address
        self.port = free_port()
        self._process: subprocess.Popen[bytes] | None = None

    @staticmethod
    def installed() -> bool:
        """Return True where the machine has one."""
        return shutil.which("redis-server") is not None

    @property
    def url(self) -> str:
        """Where it is."""
        return f"redis://{self._address}:{self.port}/0"

    def start(self) -> None:
        """Start it and wait until it answers."""
        own = [] if self._address == "127.0.0.1" else [self._address, "--protected-mode", "no"]
        arguments = ["--port", str(self.port), "--bind", "127.0.0.1", *own, "--save", "", "--appendonly", "no"]
        self._process = subprocess.Popen(
            ["redis-server", *arguments, "--dir", str(self._folder)], stdout=subprocess.DEVNULL
        )
        wait_until("Redis answers", self._answers)

    def kill(self) -> None:
        """Kill it with all that it holds."""
        if self._process is not None:
            self._process.kill()
            self._process.wait()
            self._process = None

    def _answers(self) -> bool:
        with contextlib.suppress(OSError), socket.create_connection(("127.0.0.1", self.port), 1) as line:
            line.sendall(b"PING\r\n")
            return line.recv(16).startswith(b"+PONG")
        return False


class Workers:
    """Worker processes over one state folder; those that die are started anew, as a supervisor does."""

    def __init__(
        self,
        folder: Path,
        processes: int,
        threads: int,
        broker: str | None,
        call: str = CALL,
        seconds: float = 2.0,
        database: str | None = None,
        store: str | None = None,
    ) -> None:
        self._arguments = [sys.executable, "-m", "tests.worker.study", str(folder), str(threads)]
        self._arguments += [broker or "-", call, str(seconds), database or State(folder).ledger_url, store or "-"]
        self._log = (folder.parent / f"{folder.name}.log").open("ab")
        self._number = processes
        self.processes: list[subprocess.Popen[bytes]] = []

    def __enter__(self) -> Self:
        self.see_to_it()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, traceback: TracebackType | None
    ) -> None:
        for each in self.processes:
            each.send_signal(signal.SIGTERM)
        for each in self.processes:
            try:
                each.wait(timeout=10)
            except subprocess.TimeoutExpired:
                each.kill()
                each.wait()
        self._log.close()

    def see_to_it(self) -> None:
        """Start what is missing."""
        self.processes = [each for each in self.processes if each.poll() is None]
        while len(self.processes) < self._number:
            self.processes.append(
                subprocess.Popen(
                    self._arguments, cwd=ROOT, stdout=self._log, stderr=self._log, stdin=subprocess.DEVNULL
                )
            )
