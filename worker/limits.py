"""What one child process may use, and how the kernel is told (Linux)."""

import contextlib
import ctypes
import os
import resource
import signal
from dataclasses import dataclass
from pathlib import Path
from typing import Final

_MIB: Final = 1 << 20
_PAGE_MIB: Final = resource.getpagesize() / _MIB
_PR_SET_PDEATHSIG: Final = 1  # prctl(2)
_OUTPUT_BYTES: Final = 512 * _MIB
"""Largest file a child may write: a report with its picture is below 10 MiB."""

LIBC: Final = ctypes.CDLL(None, use_errno=True)


@dataclass(frozen=True, slots=True)
class Limits:
    """Wall-clock seconds and resident memory that one file may take, and how many sound files a child may."""

    seconds: float = 120.0
    memory_mib: int = 2048
    files: int = 16

    def __post_init__(self) -> None:
        if self.seconds <= 0 or self.memory_mib <= 0 or self.files <= 0:
            raise ValueError(
                f"limits must be positive, got {self.seconds:g} s, {self.memory_mib} MiB and {self.files} files"
            )


def give_back_free_memory() -> None:
    """Hand memory that is free within this process back to the kernel, where the C library can (glibc).

    What stays is copied page by page into every fork that takes it into use. Measured on 60 mixed models: 62 ms of
    system time for each child instead of 72 ms, and a fifteenth less of its own.
    """
    if trim := getattr(LIBC, "malloc_trim", None):
        trim(0)


@dataclass(frozen=True, slots=True)
class MemoryUse:
    """Memory of one process in MiB."""

    address_space_mib: float
    resident_mib: float


def forget_peak(pid: int) -> None:
    """Let the peak of a process's resident memory begin anew (proc(5), clear_refs), where this kernel can."""
    with contextlib.suppress(OSError):
        Path(f"/proc/{pid}/clear_refs").write_text("5")


def peak_mib(pid: int) -> float:
    """Return the most that a process has had resident, in MiB (VmHWM of proc(5)); 0 where it is gone."""
    return int((status_of(pid, "VmHWM") or "0").split()[0]) / 1024


def status_of(pid: int, name: str) -> str | None:
    """Return what the kernel tells of a process under a name (proc(5), /proc/PID/status); None where it does not."""
    with contextlib.suppress(OSError):
        for line in Path(f"/proc/{pid}/status").read_text().splitlines():
            if line.startswith(f"{name}:"):
                return line.partition(":")[2].strip()
    return None


def memory_use(pid: int) -> MemoryUse | None:
    """Return what a process uses now, from /proc/PID/statm (proc(5)); None where it is gone."""
    try:
        with open(f"/proc/{pid}/statm", "rb", 0) as file:  # noqa: PTH123  # ten times a second: half the cost of a Path
            pages = file.read().split()
    except (FileNotFoundError, ProcessLookupError):
        return None
    return MemoryUse(int(pages[0]) * _PAGE_MIB, int(pages[1]) * _PAGE_MIB)


def restrain_this_process(limits: Limits, address_space_mib: float) -> None:
    """Set the limits that hold even if nobody watches this process any more; they cannot be taken back.

    The wall clock and the resident memory are watched from outside (`worker.forker`): an allocation refused inside
    OpenCascade is a segmentation fault that would hide its reason. These are the backstop.

    Parameters
    ----------
    limits : what one file may take
    address_space_mib : what the process had mapped before it began; its own share comes on top
    """
    address_space = int((address_space_mib + limits.memory_mib) * _MIB)
    for kind, most in (
        (resource.RLIMIT_AS, address_space),
        (resource.RLIMIT_CPU, limits.files * _cpu_s(limits) + 1),
        (resource.RLIMIT_FSIZE, _OUTPUT_BYTES),
        (resource.RLIMIT_CORE, 0),
    ):
        _, given = resource.getrlimit(kind)
        hard = most if given == resource.RLIM_INFINITY else min(most, given)
        resource.setrlimit(kind, (hard, hard))


def allow_time_for_a_file(limits: Limits) -> None:
    """Set what this process may use of the processors for its next file.

    SIGXCPU comes at the soft limit and names the reason; at the hard one, a second on, SIGKILL would come.
    """
    used = resource.getrusage(resource.RUSAGE_SELF)
    _, hard = resource.getrlimit(resource.RLIMIT_CPU)
    soft = int(used.ru_utime + used.ru_stime) + _cpu_s(limits)
    resource.setrlimit(resource.RLIMIT_CPU, (min(soft, hard), hard))


def _cpu_s(limits: Limits) -> int:
    """Return the seconds of processor time that a file can use within its wall-clock time, rounded up."""
    return int(limits.seconds * (os.cpu_count() or 1)) + 1


def call(name: str, *arguments: object) -> int:
    """Return what a function of the C library answers.

    Raises
    ------
    OSError : it answered -1; with the reason that the kernel gives
    """
    answer = int(getattr(LIBC, name)(*arguments))
    if answer == -1:
        number = ctypes.get_errno()
        raise OSError(number, f"{name}: {os.strerror(number)}")
    return answer


def die_with_parent(parent: int) -> None:
    """Have the kernel kill this process when its parent dies (prctl(2), PR_SET_PDEATHSIG).

    The parent must be single-threaded: the signal comes when the *thread* that forked ends.
    """
    call("prctl", _PR_SET_PDEATHSIG, signal.SIGKILL, 0, 0, 0)
    if os.getppid() != parent:  # it died before the call
        os._exit(1)
