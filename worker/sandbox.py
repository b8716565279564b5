"""Runs jobs in child processes with a limit on time and memory for each, and says how each ended.

The child is forked by a helper process that has OpenCascade loaded (`worker.forker`), so this process may have threads
and need not load it. A crash in native code, an endless loop and a memory hog are ordinary results here.
"""

import contextlib
import json
import logging
import os
import shutil
import socket
import struct
import subprocess
import sys
import tempfile
import threading
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import asdict
from typing import Any, Final, Self, cast

from worker.child import REQUEST_BYTES
from worker.forker import WARM_UP
from worker.limits import Limits
from worker.outcome import Ending, How, explain

log = logging.getLogger(__name__)

ANALYSIS: Final = "worker.analysis:run"
COMPARE: Final = "worker.comparison:run"
_LINE_BYTES: Final = 1 << 20
_READ_S: Final = 0.5
_TRIES: Final = 2
"""How often a job is begun when the helper process itself dies under it (the kernel's out-of-memory killer, say)."""

_START = "import sys; sys.path[:] = {path!r}; from worker.forker import main; main({fd}, {call!r}, {root!r})"
OF_HELPER = {
    **dict.fromkeys(("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"), "1"),
    "GLIBC_TUNABLES": "glibc.malloc.hugetlb=1",
}
"""The helper's environment: one thread for each analysis, and memory in pieces of 2 MiB where the kernel has them
(glibc 2.35; others ignore it), which means fewer entries to copy at a fork and fewer faults after it. Measured: a fork
and its end in 12 ms of processor time instead of 15.5 ms."""


class Stop:
    """Lets one thread end a job that another waits for."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._line: socket.socket | None = None
        self._asked = False

    @property
    def asked(self) -> bool:
        """True once `ask` was called."""
        return self._asked

    def ask(self) -> None:
        """End the job: hanging up makes the helper kill the child."""
        with self._lock:
            self._asked = True
            if self._line is not None:
                with contextlib.suppress(OSError):
                    self._line.shutdown(socket.SHUT_RDWR)

    @contextlib.contextmanager
    def watching(self, line: socket.socket) -> Iterator[None]:
        """Hang up this line when asked to."""
        with self._lock:
            self._line = line
        try:
            if self._asked:
                self.ask()
            yield
        finally:
            with self._lock:
                self._line = None


class Sandbox:
    """A helper process that forks children for jobs; `run` may be called from several threads at once.

    Parameters
    ----------
    call : "module:function" that each child runs
    warm : whether the helper warms up before its first child; else `warm_up` may be called later

    Examples
    --------
    >>> with Sandbox("worker.sandbox:echo") as sandbox:
    ...     sandbox.run({"size_mm": 3}, Limits(seconds=30)).result
    {'size_mm': 3}
    """

    def __init__(self, call: str = ANALYSIS, *, warm: bool = True) -> None:
        self._call = call
        self._warm = warm
        self._lock = threading.Lock()
        self._helper: subprocess.Popen[bytes] | None = None
        self._control: socket.socket | None = None
        self._root = ""
        self._closed = False
        self._told: set[str] = set()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def start(self) -> None:
        """Start the helper ahead of the first job; it loads what it needs in the background."""
        with self._lock:
            self._living_control()

    def warm_up(self) -> None:
        """Let the helper do ahead what each child would do anew: worth its time where many jobs follow."""
        with self._lock:
            if not self._warm and self._control is not None:
                _ask_to_warm_up(self._control)
            self._warm = True

    def close(self) -> None:
        """Kill all children and the helper; jobs under way end as cancelled."""
        with self._lock:
            self._closed = True
            self._end_helper()

    def run(
        self,
        job: Mapping[str, Any],
        limits: Limits,
        on_stage: Callable[[str], None] = lambda _: None,
        stop: Stop | None = None,
    ) -> Ending:
        """Run the job in a child and wait for its end.

        Parameters
        ----------
        job : JSON values, handed to the function that the sandbox was built with
        limits : what the child may take
        on_stage : told the name of each stage that the child begins
        stop : its `ask` ends the job from another thread; it then ends as cancelled

        Returns
        -------
        How it ended, with the function's result where there is one. Never raises for what the job did. Only a sound
        end is believed of a child that had other jobs before; after any other the job is done again in a fresh one.

        Raises
        ------
        RuntimeError : the helper cannot load the function; its traceback is on stderr
        """
        stop = Stop() if stop is None else stop
        ending = self._end_of(job, limits, on_stage, stop, fresh=False)
        if ending.again:
            ending = self._end_of(job, limits, on_stage, stop, fresh=True)
        self._tell_once(ending.missing)
        return ending

    def _end_of(
        self, job: Mapping[str, Any], limits: Limits, on_stage: Callable[[str], None], stop: Stop, *, fresh: bool
    ) -> Ending:
        """Return the ending in a child; where the helper dies first, in another one's."""
        request = json.dumps({"job": dict(job), "limits": asdict(limits), "fresh": fresh}).encode()
        if len(request) > REQUEST_BYTES:
            raise ValueError(f"a job of {len(request)} bytes; at most {REQUEST_BYTES} can be handed over")
        for _ in range(_TRIES):
            ending = self._attempt(request, limits, on_stage, stop)
            if ending is not None:
                return ending
            if self._closed or stop.asked:
                return Ending(how="cancelled", message=explain("cancelled", limits, ""))
            self._complain_if_unloadable()
        return Ending(how="killed", message="The process that starts the analyses died under this file, twice.")

    def _attempt(self, request: bytes, limits: Limits, on_stage: Callable[[str], None], stop: Stop) -> Ending | None:
        """Return the ending; None where the helper died first, or the job was stopped."""
        mine, theirs = socket.socketpair()
        with mine, stop.watching(mine):
            with theirs, self._lock:
                if self._closed or stop.asked:
                    return None
                try:
                    socket.send_fds(self._living_control(), [request], [theirs.fileno()])
                except (BrokenPipeError, ConnectionResetError):
                    return None
            _read_seldom(mine)
            return _listen(mine, limits, on_stage)

    def _tell_once(self, missing: Sequence[str]) -> None:
        """Log what this platform lacks."""
        for reason in set(missing) - self._told:
            self._told.add(reason)
            log.warning("analyses run with less protection: %s", reason)

    def _complain_if_unloadable(self) -> None:
        with self._lock, contextlib.suppress(subprocess.TimeoutExpired):
            if self._helper is not None and self._helper.wait(timeout=1) == 1:
                raise RuntimeError(f"{self._call} cannot be loaded")

    def _living_control(self) -> socket.socket:
        """Return the line to a living helper, started if need be. Call with the lock held."""
        if self._helper is not None and self._control is not None and self._helper.poll() is None:
            return self._control
        self._end_helper()
        self._control, theirs = socket.socketpair(type=socket.SOCK_SEQPACKET)
        self._root = tempfile.mkdtemp(prefix="partsieve-")
        code = _START.format(path=sys.path, fd=theirs.fileno(), call=self._call, root=self._root)
        with theirs:
            self._helper = subprocess.Popen(
                [sys.executable, "-P", "-c", code],
                pass_fds=[theirs.fileno()],
                stdin=subprocess.DEVNULL,
                stdout=subprocess.DEVNULL,
                start_new_session=True,  # Ctrl-C is for this process, which then ends the helper
                env={**os.environ, **OF_HELPER},
            )
        if self._warm:
            _ask_to_warm_up(self._control)
        return self._control

    def _end_helper(self) -> None:
        """Close the line, upon which the helper kills its children and ends; wait for that."""
        if self._control is not None:
            self._control.close()
        if self._helper is not None:
            try:
                self._helper.wait(timeout=1)
            except subprocess.TimeoutExpired:  # still loading, or stopped by someone; children die with it
                self._helper.kill()
                self._helper.wait()
        if self._root:
            shutil.rmtree(self._root, ignore_errors=True)
        self._helper, self._control, self._root = None, None, ""


def _ask_to_warm_up(control: socket.socket) -> None:
    with contextlib.suppress(BrokenPipeError, ConnectionResetError):  # a dead helper is met with the next job
        control.send(WARM_UP)


def echo(job: dict[str, Any], tell: Callable[[dict[str, Any]], None]) -> dict[str, Any]:
    """Return the job: the smallest thing a sandbox can run."""
    tell({"stage": "echo"})
    return job


def _listen(line: socket.socket, limits: Limits, on_stage: Callable[[str], None]) -> Ending | None:
    """Read what a child and its watcher say until the watcher's last word; None where that never comes."""
    said: dict[str, Any] = {}
    for text in _lines(line):
        message = _as_message(text)
        if isinstance(stage := message.get("stage"), str):
            said["stage"] = stage
            on_stage(stage)
        elif "end" in message:
            with contextlib.suppress(KeyError, TypeError, ValueError):  # a child gone wrong may write anything
                return _ending(message["end"], said, limits)
        else:
            said.update(message)
    return None


def _read_seldom(line: socket.socket) -> None:
    """Have reads come back when `_READ_S` have passed, or at the line's end, and not with every stage that is told.

    (socket(7): SO_RCVLOWAT, SO_RCVTIMEO.) On a machine with little else to do, each waking costs up to a millisecond.
    """
    line.setsockopt(socket.SOL_SOCKET, socket.SO_RCVLOWAT, _LINE_BYTES)
    line.setsockopt(socket.SOL_SOCKET, socket.SO_RCVTIMEO, struct.pack("ll", 0, int(_READ_S * 1e6)))


def _lines(line: socket.socket) -> Iterator[bytes]:
    """Yield what comes, line by line; of a line without end only its last piece is kept."""
    rest = b""
    with contextlib.suppress(ConnectionResetError):
        while True:
            try:
                piece = line.recv(_LINE_BYTES)
            except BlockingIOError:  # nothing came meanwhile
                continue
            if not piece:
                break
            *whole, rest = (rest + piece).split(b"\n")
            yield from whole
            rest = rest[-_LINE_BYTES:]
    yield rest


def _as_message(text: bytes) -> dict[str, Any]:
    """Return the line's object; {} for anything else, such as the torso that a killed child leaves."""
    try:
        message = json.loads(text)
    except ValueError:
        return {}
    return message if isinstance(message, dict) else {}


def _ending(end: dict[str, Any], said: dict[str, Any], limits: Limits) -> Ending:
    """Put together what the child said and what its watcher saw."""
    how = cast(How, end["how"])
    result = said.get("result")
    if not how:
        how = "finished" if isinstance(result, dict) else "out_of_memory" if said.get("memory") else "failed"
    stage = str(said.get("stage", ""))
    finished = how == "finished"
    return Ending(
        how=how,
        result=result if finished else None,
        stage=stage,
        message="" if finished else explain(how, limits, stage, end["signal"], _last_line(end["detail"])),
        detail=end["detail"],
        seconds=end["seconds"],
        peak_mib=end["peak_mib"],
        missing=tuple(map(str, said.get("missing", ()))),
        again=bool(end["again"]),
    )


def _last_line(text: str) -> str:
    lines = text.strip().splitlines()
    return lines[-1][:300] if lines else ""
