"""Small real functions for a child that takes several jobs: what one leaves behind, another could meet."""

import os
import resource
import signal
import sys
import time
from pathlib import Path
from typing import Any

from worker.child import Tell
from worker.parcel import Parcel

_left_behind: dict[str, Any] = {}


def pack(job: dict[str, Any], parcel: Parcel) -> dict[str, Any]:
    """Put the files that a job names into the child's folder."""
    given = [parcel.give(each) for each in job.get("given", ())]
    kept = [parcel.keep(each) for each in job.get("kept", ())]
    out = {"out": parcel.collect(job["out"])} if "out" in job else {}
    return {**job, "given": given, "kept": kept, **out}


def sound(result: dict[str, Any]) -> bool:
    """Return what the job itself says."""
    return bool(result["sound"])


def act(job: dict[str, Any], tell: Tell) -> dict[str, Any]:
    """Do what job["do"] names; the result says in which process."""
    tell({"stage": job["do"]})
    fault = _left_behind.get("fault")
    if fault is not None:
        _DEEDS[fault](job)
    return {"pid": os.getpid(), "sound": job.get("sound", True), **(_DEEDS[job["do"]](job) or {})}


def _leave_fault(job: dict[str, Any]) -> None:
    _left_behind["fault"] = job["fault"]


def _hoard(job: dict[str, Any]) -> None:
    _left_behind["hoard"] = bytearray(os.urandom(1024)) * (1024 * job["mib"])


def _drop_hoard(job: dict[str, Any]) -> None:
    _left_behind.pop("hoard", None)


def _litter(job: dict[str, Any]) -> None:
    Path("scratch").write_text("x")
    Path(job["out"], "left").write_text("x")
    sys.stderr.write("words of the first\n")


def _look(job: dict[str, Any]) -> dict[str, Any]:
    folder = Path.cwd().parent
    return {"found": sorted(str(each.relative_to(folder)) for each in folder.rglob("*") if each.is_file())}


def _limits(job: dict[str, Any]) -> dict[str, Any]:
    used = resource.getrusage(resource.RUSAGE_SELF)
    soft, hard = resource.getrlimit(resource.RLIMIT_CPU)
    return {"left_s": soft - used.ru_utime - used.ru_stime, "hard": hard}


def _spin(job: dict[str, Any]) -> None:
    end = time.process_time() + job["seconds"]
    while time.process_time() < end:
        pass


def _write(job: dict[str, Any]) -> None:
    for name, text in job["write"].items():
        Path(job["out"], name).write_text(text)
    for path in job["kept"]:
        Path(path).write_text(Path(path).read_text() + job["add"])


_DEEDS: dict[str, Any] = {
    "nothing": lambda _: None,
    "leave_fault": _leave_fault,
    "hoard": _hoard,
    "drop_hoard": _drop_hoard,
    "litter": _litter,
    "look": _look,
    "limits": _limits,
    "spin": _spin,
    "write": _write,
    "read": lambda job: {"read": [Path(each).read_text() for each in (*job["given"], *job["kept"])]},
    "nap": lambda job: time.sleep(job["seconds"]),
    "crash": lambda _: os.kill(os.getpid(), signal.SIGSEGV),
    "raise": lambda _: 1 / 0,
    "hang": lambda _: time.sleep(600),
}
