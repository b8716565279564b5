"""What one child does: put up its walls, then do the jobs it is handed, one after the other, while all goes well."""

import contextlib
import faulthandler
import json
import os
import socket
import sys
import tempfile
import traceback
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final, NoReturn

from worker.confine import confine_this_process
from worker.limits import Limits, allow_time_for_a_file, die_with_parent, restrain_this_process
from worker.parcel import OWN, Parcel

Tell = Callable[[dict[str, Any]], None]
Run = Callable[[dict[str, Any], Tell], dict[str, Any]]
"""What a child runs: JSON in, JSON out; `Tell` sends a line to the waiting side on the way."""

Pack = Callable[[dict[str, Any], Parcel], dict[str, Any]]
"""Puts the files of a job into a child's folder and returns the job with the paths that hold there."""

REQUEST_BYTES: Final = 1 << 17
FREE: Final = b"free"
"""What a child says that may take another file."""

STDERR: Final = "stderr"
"""The file in a child's folder that its words for the log go to."""


@dataclass(frozen=True, slots=True)
class Work:
    """What each child does; where `pack` is None it may do what this process may."""

    run: Run
    warm_up: Callable[[], None] = lambda: None
    pack: Pack | None = None
    sound: Callable[[dict[str, Any]], bool] = lambda _: False  # whether a child may take another job after this result
    missing: tuple[str, ...] = ()  # walls that could not be put up around this process already, with the reasons


def be_child(
    work: Work, line: socket.socket, folder: Path, limits: Limits, address_space_mib: float, forker: int
) -> NoReturn:
    """Run jobs in this fresh child, say how each went, and leave without a look back."""
    code, answer = 1, None
    try:
        os.setsid()
        die_with_parent(forker)
        _rewire(line.fileno(), folder / STDERR)
        own = folder / OWN
        os.chdir(own)
        os.environ["TMPDIR"] = tempfile.tempdir = str(own)
        faulthandler.enable()
        restrain_this_process(limits, address_space_mib)
        missing = () if work.pack is None else (*work.missing, *confine_this_process(folder))
        more = True
        while more:
            job, (descriptor,), _, _ = socket.recv_fds(line, REQUEST_BYTES, 1)
            answer = socket.socket(fileno=descriptor)
            allow_time_for_a_file(limits)
            more = work.sound(_do(work, json.loads(job), answer, missing))
            if more:
                sys.stderr.flush()
                answer.close()
                line.send(FREE)
        code = 0
    except MemoryError:
        code = 2
        if answer is not None:
            answer.sendall(b'{"memory": true}\n')
    except BaseException:  # noqa: BLE001  # the child's outermost frame: whatever it was, it is said and the child ends
        traceback.print_exc()
    finally:
        with contextlib.suppress(OSError, ValueError):
            sys.stderr.flush()
        os._exit(code)


def _do(work: Work, job: dict[str, Any], answer: socket.socket, missing: tuple[str, ...]) -> dict[str, Any]:
    """Do one job and return its result, which is told too."""

    def tell(line: dict[str, Any]) -> None:
        answer.sendall(json.dumps(line).encode() + b"\n")

    if missing:
        tell({"missing": missing})
    result = work.run(job, tell)
    tell({"result": result})
    return result


def _rewire(keep: int, stderr: Path) -> None:
    """Point the standard streams away from the terminal and close every other descriptor but one."""
    nothing = os.open(os.devnull, os.O_RDWR)
    errors = os.open(stderr, os.O_WRONLY | os.O_CREAT | os.O_APPEND, 0o600)
    for source, target in ((nothing, 0), (nothing, 1), (errors, 2)):
        os.dup2(source, target)
    os.closerange(3, keep)
    os.closerange(keep + 1, os.sysconf("SC_OPEN_MAX"))
