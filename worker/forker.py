"""The process that forks: it loads the analysis once, then hands every file to a child and watches it.

It has one thread for its whole life, so a fork copies no lock that another thread holds, and it never analyses
anything itself. Requests come over a socket pair, each with one end of a further pair over which the child and, at
its end, this process answer in JSON lines. When the other side of the first pair closes, whatever the reason, all
children are killed.

A child whose file came to a sound end may take a few more: it has then paid for its copies of memory. One whose file
was odd in any way takes no other, and what goes wrong in a child that had files before is said to be no word on this
one: it is done again in a fresh child.
"""

import contextlib
import gc
import importlib
import json
import os
import selectors
import shutil
import signal
import socket
import tempfile
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from worker.child import FREE, REQUEST_BYTES, STDERR, Run, Work, be_child
from worker.confine import leave_network
from worker.limits import (
    Limits,
    forget_peak,
    give_back_free_memory,
    memory_use,
    peak_mib,
)
from worker.parcel import Parcel, clear, lay_out

WARM_UP: Final = b'{"warm_up": true}'
"""The one request without a socket: the children forked from then on find more of their work done."""

_WATCH_S: Final = 0.1
"""How often memory is looked at. At 1 GB/s, about what a core can touch, a child overshoots by some 100 MB."""

_IDLE_S: Final = 1.0
"""How long a child waits for another file: it holds memory that others may want, and only many files make it pay."""

_ROOMY: Final = 0.25
"""Share of its memory limit above which a child takes no other file: what the next one may take would shrink."""

_STDERR_TAIL: Final = 4000
_ANSWER_S: Final = 2.0
_NEAR: Final = 0.9
"""A child that dies by a signal this close to a limit is taken to have died of it."""


@dataclass(slots=True)
class _Task:
    """One job in the hands of a child."""

    answer: socket.socket
    parcel: Parcel
    started: float
    peak: float = 0.0  # share of its memory limit that was seen in use


@dataclass(frozen=True, slots=True)
class _Ending:
    """What the watcher saw of a job's end."""

    how: str  # "" = as the child itself says
    died_of: int | None  # signal
    peak_mib: float


@dataclass(slots=True)
class _Child:
    """One child under watch."""

    pid: int
    pidfd: int
    line: socket.socket
    limits: Limits
    folder: Path
    address_space_mib: float  # before the fork
    files: int = 0  # that it was given
    task: _Task | None = None
    idle_since: float = 0.0
    killed_for: str = ""


class _Nursery:
    """All children, and what is done when one is to be given a job, says something, or dies."""

    def __init__(self, work: Work, root: Path, selector: selectors.BaseSelector) -> None:
        self._work, self._root, self._selector = work, root, selector
        self._children: dict[int, _Child] = {}

    def pause_s(self) -> float | None:
        """Return how long one may wait for events."""
        if any(each.task for each in self._children.values()):
            return _WATCH_S
        return _IDLE_S if self._children else None

    def take(self, request: dict[str, Any], answer: socket.socket) -> None:
        """Hand a job to a child that waits for one, or to a new one."""
        limits = Limits(**request["limits"])
        child = None if request["fresh"] else self._waiting(limits)
        if child is None:
            child = self._born(limits)
        else:
            forget_peak(child.pid)
        task = child.task = _Task(answer, Parcel(child.folder), time.monotonic())
        child.files += 1
        self._selector.register(answer, selectors.EVENT_READ, child)
        job, pack = request["job"], self._work.pack
        try:
            job = job if pack is None else pack(job, task.parcel)
        except OSError as error:
            _stderr(child).write_text(str(error))
            _kill(child, "failed")
            return
        with contextlib.suppress(OSError):  # one that has just died is met as dead
            socket.send_fds(child.line, [json.dumps(job).encode()], [answer.fileno()])

    def heard(self, child: _Child, source: Any) -> None:
        """Hear from a child that it is free, or from whoever waits for its job that he waits no more."""
        if child.task is not None and source is child.task.answer:  # nobody talks to a child: the end of the line
            self._selector.unregister(source)
            _kill(child, "cancelled")
        elif source is child.line and child.task is not None and _says_free(child):
            self._settle(child, child.task, _Ending("", None, peak_mib(child.pid)), sound=True)
            self._rest(child)
        elif source is child.line:  # it ends, or has gone wrong
            self._selector.unregister(source)
            if child.task is None:
                _kill(child, "idle")

    def look(self) -> None:
        """Collect the dead; kill whoever is over a limit."""
        for child in list(self._children.values()):
            if os.waitid(os.P_PID, child.pid, os.WEXITED | os.WNOHANG | os.WNOWAIT) is None:
                _watch(child)
                continue
            del self._children[child.pid]
            self._forget(child.pidfd)
            self._forget(child.line)
            self._bury(child)

    def end_all(self) -> None:
        """Kill all children before any is waited for."""
        for child in self._children.values():
            _kill(child, "cancelled")
        for child in self._children.values():
            self._bury(child)

    def _waiting(self, limits: Limits) -> _Child | None:
        """Return a child that waits for a job and was born to these limits."""
        for child in self._children.values():
            if child.task is None and not child.killed_for and child.limits == limits:
                return child
        return None

    def _born(self, limits: Limits) -> _Child:
        """Fork a child."""
        folder = Path(tempfile.mkdtemp(dir=self._root))
        lay_out(folder)
        own = memory_use(os.getpid())
        address_space_mib = own.address_space_mib if own else 0.0
        line, theirs = socket.socketpair(type=socket.SOCK_SEQPACKET)
        forker = os.getpid()
        pid = os.fork()
        if pid == 0:
            be_child(self._work, theirs, folder, limits, address_space_mib, forker)
        theirs.close()
        line.setblocking(False)
        child = self._children[pid] = _Child(pid, os.pidfd_open(pid), line, limits, folder, address_space_mib)
        self._selector.register(child.pidfd, selectors.EVENT_READ)
        self._selector.register(line, selectors.EVENT_READ, child)
        return child

    def _rest(self, child: _Child) -> None:
        """Let a child wait for another job, if it may have one."""
        clear(child.folder)
        os.truncate(_stderr(child), 0)
        child.idle_since = time.monotonic()
        use = memory_use(child.pid)
        crowded = use is None or use.resident_mib > _ROOMY * child.limits.memory_mib
        if crowded or child.files >= child.limits.files:
            _kill(child, "idle")

    def _bury(self, child: _Child) -> None:
        """Collect a dead child, say how its job ended if it had one, and remove what it left."""
        with contextlib.suppress(ProcessLookupError):
            os.killpg(child.pid, signal.SIGKILL)  # its own children; its number is not free before the wait below
        _, status, used = os.wait4(child.pid, 0)
        os.close(child.pidfd)
        child.line.close()
        if child.task is not None:
            peak = used.ru_maxrss / 1024
            died_of = os.WTERMSIG(status) if os.WIFSIGNALED(status) else None
            how = child.killed_for
            if not how and died_of is not None:
                near_memory = max(child.task.peak, peak / child.limits.memory_mib) >= _NEAR
                how = "out_of_time" if died_of == signal.SIGXCPU else "out_of_memory" if near_memory else "crashed"
                how = "killed" if how == "crashed" and died_of == signal.SIGKILL else how
            self._settle(child, child.task, _Ending(how, died_of, peak), sound=False)
        shutil.rmtree(child.folder, ignore_errors=True)

    def _settle(self, child: _Child, task: _Task, ending: _Ending, *, sound: bool) -> None:
        """Carry out what a job left, and say how it ended."""
        child.task = None
        self._forget(task.answer)
        stderr = _stderr(child)
        detail = stderr.read_text("utf-8", "replace")[-_STDERR_TAIL:] if stderr.exists() else ""
        how, again = ending.how, child.files > 1 and not sound and ending.how != "cancelled"
        if not again:
            try:
                task.parcel.deliver()
            except OSError as error:
                how, detail = "failed", f"{detail}\n{error}"
        said = {
            "how": how,
            "again": again,
            "signal": ending.died_of,
            "seconds": round(time.monotonic() - task.started, 4),
            "peak_mib": round(ending.peak_mib, 1),
            "detail": detail,
        }
        task.answer.settimeout(_ANSWER_S)
        with contextlib.suppress(OSError):  # nobody may be waiting any more
            task.answer.sendall(b"\n" + json.dumps({"end": said}).encode() + b"\n")
        task.answer.close()

    def _forget(self, source: Any) -> None:
        with contextlib.suppress(KeyError):
            self._selector.unregister(source)


def serve(control: socket.socket, work: Work, root: Path) -> None:
    """Answer requests until the other side closes; then kill all children.

    Parameters
    ----------
    control : SOCK_SEQPACKET; each message is a JSON request with one socket attached
    work : what each child does
    root : folder in which every child gets a folder of its own
    """
    with selectors.DefaultSelector() as selector:
        selector.register(control, selectors.EVENT_READ)
        nursery = _Nursery(work, root, selector)
        while True:
            for key, _ in selector.select(nursery.pause_s()):
                if key.fileobj is control:
                    message, descriptors, _, _ = socket.recv_fds(control, REQUEST_BYTES, 1)
                    if not message:
                        nursery.end_all()
                        return
                    if message == WARM_UP:
                        prepare(work.warm_up)
                    else:
                        nursery.take(json.loads(message), socket.socket(fileno=descriptors[0]))
                elif key.data is not None:
                    nursery.heard(key.data, key.fileobj)
            nursery.look()


def prepare(warm_up: Callable[[], None]) -> None:
    """Do what the children would do anew, and leave nothing that a child would copy for nothing.

    That is what a collection would only look at, and memory that is free.
    """
    warm_up()
    gc.collect()
    gc.freeze()
    give_back_free_memory()


def _says_free(child: _Child) -> bool:
    """Return whether a child says that it may take another job; else it ends, or has gone wrong."""
    with contextlib.suppress(OSError):
        return child.line.recv(len(FREE) + 1) == FREE
    return False


def _stderr(child: _Child) -> Path:
    return child.folder / STDERR


def _watch(child: _Child) -> None:
    """Kill a child that is over its time or its memory, or that has waited long enough for another job."""
    now, task = time.monotonic(), child.task
    if task is None:
        if now - child.idle_since > _IDLE_S:
            _kill(child, "idle")
        return
    if now - task.started > child.limits.seconds:
        _kill(child, "out_of_time")
        return
    use = memory_use(child.pid)
    if use is None:
        return
    own_mib = use.address_space_mib - child.address_space_mib
    task.peak = max(task.peak, use.resident_mib / child.limits.memory_mib, own_mib / child.limits.memory_mib)
    if use.resident_mib > child.limits.memory_mib:
        _kill(child, "out_of_memory")


def _kill(child: _Child, why: str) -> None:
    """Kill the child and whatever it started; the first reason stands."""
    child.killed_for = child.killed_for or why
    with contextlib.suppress(ProcessLookupError):
        signal.pidfd_send_signal(child.pidfd, signal.SIGKILL)
    with contextlib.suppress(ProcessLookupError):
        os.killpg(child.pid, signal.SIGKILL)


_OF_MODULE: Final = ("warm_up", "pack", "sound")
"""What a module may say of its function; see `main`."""


def main(control_fd: int, call: str, root: str) -> None:
    """Load what the children need, then serve.

    Parameters
    ----------
    control_fd : descriptor of the socket pair's own end
    call : "module:function" to be run in the children. The module may have `warm_up`, called when asked for; `pack`,
        which puts a job's files into its child's folder, and then the child is kept from everything else; and
        `sound`, which says of a result whether the child may take another job
    root : folder for temporary files; removed at the end
    """
    name, function = call.split(":")
    module = importlib.import_module(name)
    run: Run = getattr(module, function)
    known: dict[str, Any] = {each: getattr(module, each) for each in _OF_MODULE if hasattr(module, each)}
    gc.freeze()
    without_network = leave_network() if "pack" in known else None
    work = Work(run, missing=() if without_network is None else (without_network,), **known)
    try:
        with socket.socket(fileno=control_fd) as control:
            serve(control, work, Path(root))
    finally:
        shutil.rmtree(root, ignore_errors=True)
