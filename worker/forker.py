"""The process that forks: it loads the analysis once, then gives every file a child of its own and watches it.

It has one thread for its whole life, so a fork copies no lock that another thread holds, and it never analyses
anything itself. Requests come over a socket pair, each with one end of a further pair over which the child and, after
its death, this process answer in JSON lines. When the other side of the first pair closes, whatever the reason, all
children are killed.
"""

import contextlib
import faulthandler
import gc
import importlib
import json
import os
import selectors
import shutil
import signal
import socket
import sys
import tempfile
import time
import traceback
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final, NoReturn

from worker.confine import Reach, confine_this_process, leave_network
from worker.limits import Limits, die_with_parent, give_back_free_memory, memory_use, restrain_this_process

Tell = Callable[[dict[str, Any]], None]
Run = Callable[[dict[str, Any], Tell], dict[str, Any]]
"""What a child runs: JSON in, JSON out; `Tell` sends a line to the waiting side on the way."""

ReachOf = Callable[[dict[str, Any]], Reach]
"""What a job needs of the files of this machine."""

REQUEST_BYTES: Final = 1 << 17
WARM_UP: Final = b'{"warm_up": true}'
"""The one request without a socket: the children forked from then on find more of their work done."""

_WATCH_S: Final = 0.05
"""How often memory is looked at. At 1 GB/s, about what a core can touch, a child overshoots by some 50 MB."""

_STDERR_TAIL: Final = 4000
_ANSWER_S: Final = 2.0
_NEAR: Final = 0.9
"""A child that dies by a signal this close to a limit is taken to have died of it."""


@dataclass(frozen=True, slots=True)
class Work:
    """What each child does; where `reach_of` is None it may do what this process may."""

    run: Run
    warm_up: Callable[[], None]
    reach_of: ReachOf | None = None
    missing: tuple[str, ...] = ()  # walls that could not be put up around this process already, with the reasons


@dataclass(slots=True)
class _Child:
    """One child under watch."""

    pid: int
    pidfd: int
    answer: socket.socket
    limits: Limits
    folder: Path
    started: float
    address_space_mib: float  # before the fork
    peak: float = 0.0  # share of its memory limit that was seen in use
    killed_for: str = ""


def serve(control: socket.socket, work: Work, root: Path) -> None:
    """Answer requests until the other side closes; then kill all children.

    Parameters
    ----------
    control : SOCK_SEQPACKET; each message is a JSON request with one socket attached
    work : what each child does
    root : folder in which every child gets a temporary folder of its own
    """
    children: dict[int, _Child] = {}
    with selectors.DefaultSelector() as selector:
        selector.register(control, selectors.EVENT_READ)
        while True:
            events = selector.select(_WATCH_S if children else None)
            for key, _ in events:
                if key.fileobj is control:
                    message, descriptors, _, _ = socket.recv_fds(control, REQUEST_BYTES, 1)
                    if not message:
                        _end_all(children.values())
                        return
                    if message == WARM_UP:
                        _warm_up(work)
                        continue
                    child = _give_birth(json.loads(message), socket.socket(fileno=descriptors[0]), work, root)
                    children[child.pid] = child
                    selector.register(child.pidfd, selectors.EVENT_READ)
                    selector.register(child.answer, selectors.EVENT_READ, child)
                elif key.data is not None:  # nobody talks to a child: this is the end of the line
                    selector.unregister(key.data.answer)
                    _kill(key.data, "cancelled")
            for child in list(children.values()):
                if os.waitid(os.P_PID, child.pid, os.WEXITED | os.WNOHANG | os.WNOWAIT) is None:
                    _watch(child)
                    continue
                del children[child.pid]
                selector.unregister(child.pidfd)
                with contextlib.suppress(KeyError):
                    selector.unregister(child.answer)
                _bury(child)


def _warm_up(work: Work) -> None:
    """Do what the children would do anew, and leave nothing that a child would copy for nothing.

    That is what a collection would only look at, and memory that is free.
    """
    work.warm_up()
    gc.collect()
    gc.freeze()
    give_back_free_memory()


def _give_birth(request: dict[str, Any], answer: socket.socket, work: Work, root: Path) -> _Child:
    """Fork a child for a request."""
    limits = Limits(**request["limits"])
    folder = Path(tempfile.mkdtemp(dir=root))
    own = memory_use(os.getpid())
    address_space_mib = own.address_space_mib if own else 0.0
    forker = os.getpid()
    pid = os.fork()
    if pid == 0:
        _be_child(work, request["job"], answer, folder, limits, address_space_mib, forker)
    return _Child(pid, os.pidfd_open(pid), answer, limits, folder, time.monotonic(), address_space_mib)


def _be_child(
    work: Work,
    job: dict[str, Any],
    answer: socket.socket,
    folder: Path,
    limits: Limits,
    address_space_mib: float,
    forker: int,
) -> NoReturn:
    """Run the job in this fresh child, say how it went, and leave without a look back."""
    code = 1
    try:
        os.setsid()
        die_with_parent(forker)
        _rewire(answer.fileno(), folder / "stderr")
        own = folder / "work"
        own.mkdir()
        os.chdir(own)
        os.environ["TMPDIR"] = tempfile.tempdir = str(own)
        faulthandler.enable()
        restrain_this_process(limits, address_space_mib)

        def tell(line: dict[str, Any]) -> None:
            answer.sendall(json.dumps(line).encode() + b"\n")

        if work.reach_of is not None:
            missing = (*work.missing, *confine_this_process(work.reach_of(job), folder))
            if missing:
                tell({"missing": missing})
        tell({"result": work.run(job, tell)})
        code = 0
    except MemoryError:
        code = 2
        answer.sendall(b'{"memory": true}\n')
    except BaseException:  # noqa: BLE001  # the child's outermost frame: whatever it was, it is said and the child ends
        traceback.print_exc()
    finally:
        with contextlib.suppress(OSError, ValueError):
            sys.stderr.flush()
        os._exit(code)


def _rewire(keep: int, stderr: Path) -> None:
    """Point the standard streams away from the terminal and close every other descriptor but one."""
    nothing = os.open(os.devnull, os.O_RDWR)
    errors = os.open(stderr, os.O_WRONLY | os.O_CREAT | os.O_APPEND, 0o600)
    for source, target in ((nothing, 0), (nothing, 1), (errors, 2)):
        os.dup2(source, target)
    os.closerange(3, keep)
    os.closerange(keep + 1, os.sysconf("SC_OPEN_MAX"))


def _watch(child: _Child) -> None:
    """Kill a child that is over its time or its memory."""
    if time.monotonic() - child.started > child.limits.seconds:
        _kill(child, "out_of_time")
        return
    use = memory_use(child.pid)
    if use is None:
        return
    own_mib = use.address_space_mib - child.address_space_mib
    child.peak = max(child.peak, use.resident_mib / child.limits.memory_mib, own_mib / child.limits.memory_mib)
    if use.resident_mib > child.limits.memory_mib:
        _kill(child, "out_of_memory")


def _kill(child: _Child, why: str) -> None:
    """Kill the child and whatever it started; the first reason stands."""
    child.killed_for = child.killed_for or why
    with contextlib.suppress(ProcessLookupError):
        signal.pidfd_send_signal(child.pidfd, signal.SIGKILL)
    with contextlib.suppress(ProcessLookupError):
        os.killpg(child.pid, signal.SIGKILL)


def _end_all(children: Iterable[_Child]) -> None:
    """Kill all children before any is waited for."""
    ended = list(children)
    for child in ended:
        _kill(child, "cancelled")
    for child in ended:
        _bury(child)


def _bury(child: _Child) -> None:
    """Collect a dead child, say how it ended, and remove what it left."""
    with contextlib.suppress(ProcessLookupError):
        os.killpg(child.pid, signal.SIGKILL)  # its own children; its number is not free before the wait below
    _, status, used = os.wait4(child.pid, 0)
    os.close(child.pidfd)
    peak_mib = used.ru_maxrss / 1024
    died_of = os.WTERMSIG(status) if os.WIFSIGNALED(status) else None
    how = child.killed_for
    if not how and died_of is not None:
        near_memory = max(child.peak, peak_mib / child.limits.memory_mib) >= _NEAR
        how = "out_of_time" if died_of == signal.SIGXCPU else "out_of_memory" if near_memory else "crashed"
        how = "killed" if how == "crashed" and died_of == signal.SIGKILL else how
    stderr = child.folder / "stderr"
    ending = {
        "how": how,
        "signal": died_of,
        "seconds": round(time.monotonic() - child.started, 4),
        "peak_mib": round(peak_mib, 1),
        "detail": stderr.read_text("utf-8", "replace")[-_STDERR_TAIL:] if stderr.exists() else "",
    }
    child.answer.settimeout(_ANSWER_S)
    with contextlib.suppress(OSError):  # nobody may be waiting any more
        child.answer.sendall(b"\n" + json.dumps({"end": ending}).encode() + b"\n")
    child.answer.close()
    shutil.rmtree(child.folder, ignore_errors=True)


def main(control_fd: int, call: str, root: str) -> None:
    """Load what the children need, then serve.

    Parameters
    ----------
    control_fd : descriptor of the socket pair's own end
    call : "module:function" to be run in the children; the module may have `warm_up`, called when asked for, and
        `reach`, which says of a job what it needs of the machine: then its child is kept from everything else
    root : folder for temporary files; removed at the end
    """
    name, function = call.split(":")
    module = importlib.import_module(name)
    run: Run = getattr(module, function)
    reach_of: ReachOf | None = getattr(module, "reach", None)
    gc.freeze()
    without_network = leave_network() if reach_of is not None else None
    missing = () if without_network is None else (without_network,)
    work = Work(run, getattr(module, "warm_up", lambda: None), reach_of, missing)
    try:
        with socket.socket(fileno=control_fd) as control:
            serve(control, work, Path(root))
    finally:
        shutil.rmtree(root, ignore_errors=True)
