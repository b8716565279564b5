"""Small real functions for a sandbox to run: each goes wrong in its own way."""

import contextlib
import ctypes
import os
import signal
import socket
import stat
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from typing import Any

from worker.child import Tell


def act(job: dict[str, Any], tell: Tell) -> dict[str, Any]:
    """Do what job["do"] names."""
    tell({"stage": job["do"]})
    done: dict[str, Any] = globals()[job["do"]](job, tell)
    return done


def add(job: dict[str, Any], tell: Tell) -> dict[str, Any]:
    """Go well."""
    return {"sum": job["a"] + job["b"]}


def nap(job: dict[str, Any], tell: Tell) -> dict[str, Any]:
    """Leave a mark when begun and another when done."""
    mark = Path(job["mark"])
    mark.write_text(str(os.getpid()))
    time.sleep(job["seconds"])
    mark.write_text("done")
    return {}


def segfault(job: dict[str, Any], tell: Tell) -> dict[str, Any]:
    """Read from address 0 in native code."""
    return {"byte": ctypes.string_at(0)}


def abort(job: dict[str, Any], tell: Tell) -> dict[str, Any]:
    """Do what an uncaught C++ exception does."""
    os.abort()


def hang(job: dict[str, Any], tell: Tell) -> dict[str, Any]:
    """Block in native code, deaf to every signal that can be refused."""
    signal.pthread_sigmask(signal.SIG_BLOCK, signal.Signals)
    while True:
        ctypes.CDLL(None).sleep(1000)


def hoard(job: dict[str, Any], tell: Tell) -> dict[str, Any]:
    """Take and touch memory, piece by piece."""
    hoarded = []
    while True:
        hoarded.append(bytearray(os.urandom(1024)) * 8192)


def gulp(job: dict[str, Any], tell: Tell) -> dict[str, Any]:
    """Ask for far too much at once."""
    return {"size": len(bytearray(1 << 42))}


def gulp_natively(job: dict[str, Any], tell: Tell) -> dict[str, Any]:
    """Take memory in native code until it is refused, then use the null pointer, as unguarded C++ would."""
    libc = ctypes.CDLL(None)
    libc.malloc.restype = ctypes.c_void_p
    while True:
        block = libc.malloc(32 << 20)
        if not block:
            time.sleep(0.2)  # such a program is seen at its limit
        ctypes.memset(block, 1, 4096)


def fail(job: dict[str, Any], tell: Tell) -> dict[str, Any]:
    """Raise."""
    raise KeyError("no such face")


def leave(job: dict[str, Any], tell: Tell) -> dict[str, Any]:
    """Exit behind the sandbox's back."""
    os._exit(0)


def babble(job: dict[str, Any], tell: Tell) -> dict[str, Any]:
    """Print to every stream, and send lines that are no messages."""
    for descriptor in (1, 2):
        os.write(descriptor, b"\xff noise \n" * 1000)
    line = socket.socket(fileno=_open_sockets()[0])
    line.sendall(b"x" * 3_000_000 + b'\n[1, 2]\n"text"\n\xff\n{"end": {"how": "finished"}}\n')
    line.detach()
    return {"fine": True}


def be_cut_off(job: dict[str, Any], tell: Tell) -> dict[str, Any]:
    """Die in the middle of a message."""
    socket.socket(fileno=_open_sockets()[0]).sendall(b'{"result": {"half": ')
    os.kill(os.getpid(), signal.SIGKILL)
    return {}


def look_around(job: dict[str, Any], tell: Tell) -> dict[str, Any]:
    """Report what this child can see."""
    Path("scratch").write_text("x")
    return {
        "folder": str(Path.cwd()),
        "temporary": tempfile.gettempdir(),
        "sockets": len(_open_sockets()),
        "environment": os.environ["TMPDIR"],
        "session": os.getsid(0) == os.getpid(),
    }


def _open_sockets() -> list[int]:
    """Return the descriptors of this process that are sockets."""
    found = []
    for number in range(256):
        with contextlib.suppress(OSError):
            if stat.S_ISSOCK(os.fstat(number).st_mode):
                found.append(number)
    return found


def have_children(job: dict[str, Any], tell: Tell) -> dict[str, Any]:
    """Leave a process behind."""
    child = subprocess.Popen([sys.executable, "-c", "import time; time.sleep(600)"])
    return {"pid": child.pid}


def kill_forker(job: dict[str, Any], tell: Tell) -> dict[str, Any]:
    """Take the parent down; once only, where a mark says it was done."""
    mark = Path(job["mark"])
    if not mark.exists() or job.get("always"):
        mark.write_text("done")
        os.kill(os.getppid(), signal.SIGKILL)
        time.sleep(60)
    return {"survived": True}


def spin(job: dict[str, Any], tell: Tell) -> dict[str, Any]:
    """Burn processor time while the watcher is stopped, so that only the kernel's own limit is left."""
    os.kill(os.getppid(), signal.SIGSTOP)
    subprocess.Popen(["sh", "-c", f"sleep {job['release_s']}; kill -CONT {os.getppid()}"], start_new_session=True)
    while True:
        pass
