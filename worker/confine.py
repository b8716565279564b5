"""What a child may reach beside its own folder: nothing on the network, no files but the libraries', no programs.

Three walls of the Linux kernel, each of which stands where the platform has it: a network namespace of its own,
Landlock (landlock(7)) and a system-call filter (seccomp(2)). What is missing is told with its reason.
"""

import ctypes
import errno
import os
import sys
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Final

from worker.limits import LIBC, call
from worker.parcel import GIVEN, KEPT, OWN, RESULTS

try:
    import pyseccomp
except (ImportError, OSError, RuntimeError) as error:  # it looks for the library libseccomp when it is imported
    pyseccomp = None
    _NO_FILTER = f"no system-call filter: {error}"

_CLONE_NEWNET: Final = 0x40000000
_CLONE_NEWUSER: Final = 0x10000000
_CLONE_THREAD: Final = 0x00010000
_PR_SET_NO_NEW_PRIVS: Final = 38  # prctl(2)

_CREATE_RULESET, _ADD_RULE, _RESTRICT_SELF = 444, 445, 446  # the same numbers on all architectures
_VERSION_FLAG: Final = 1
_PATH_BENEATH: Final = 1

_EXECUTE, _WRITE_FILE, _READ_FILE, _READ_DIR = 1 << 0, 1 << 1, 1 << 2, 1 << 3
_ALL_FS: Final = {1: (1 << 13) - 1, 2: (1 << 14) - 1, 3: (1 << 15) - 1, 4: (1 << 15) - 1, 5: (1 << 16) - 1}
"""File rights that each version of Landlock knows: 2 adds moving between folders, 3 truncation, 5 device control."""

_REMOVE_FILE, _MAKE_REG, _MAKE_SYM, _TRUNCATE, _IOCTL = 1 << 5, 1 << 8, 1 << 12, 1 << 14, 1 << 15
_OF_RESULTS: Final = _WRITE_FILE | _READ_FILE | _READ_DIR | _REMOVE_FILE | _MAKE_REG | _TRUNCATE
"""Plain files only: a link in a folder of results would have whoever serves it read what it leads to."""

_OF_OWN: Final = _OF_RESULTS | _MAKE_SYM

_TCP: Final = 0b11  # bind and connect, from version 4
_SCOPES: Final = 0b11  # signals and abstract sockets of processes outside, from version 6
_OF_FILES: Final = _EXECUTE | _WRITE_FILE | _READ_FILE | _TRUNCATE | _IOCTL
"""Rights that a rule on a file, not a folder, may give."""

_FORBIDDEN: Final = (
    *("socket", "connect", "bind", "listen", "accept", "accept4"),
    *("execve", "execveat", "fork", "vfork", "ptrace", "process_vm_readv", "process_vm_writev", "pidfd_getfd"),
    *("mount", "umount2", "pivot_root", "chroot", "unshare", "setns", "bpf", "perf_event_open", "userfaultfd"),
    *("io_uring_setup", "add_key", "request_key", "keyctl", "init_module", "finit_module", "delete_module"),
    *("kexec_load", "reboot", "swapon", "swapoff", "open_by_handle_at", "personality"),
)
"""System calls that no analysis makes and that attackers want."""


class _Ruleset(ctypes.Structure):
    _fields_ = (("fs", ctypes.c_uint64), ("net", ctypes.c_uint64), ("scoped", ctypes.c_uint64))


class _Beneath(ctypes.Structure):
    _pack_ = 1
    _fields_ = (("allowed", ctypes.c_uint64), ("parent_fd", ctypes.c_int32))


def leave_network() -> str | None:
    """Give this process and those that it will fork a network without any device; return why that cannot be.

    The process must have one thread. An ordinary user gets a user namespace for it, in which it keeps its number.
    """
    user, group = os.geteuid(), os.getegid()
    try:
        if user == 0:
            call("unshare", _CLONE_NEWNET)
        else:
            call("unshare", _CLONE_NEWUSER | _CLONE_NEWNET)
            Path("/proc/self/setgroups").write_text("deny")
            Path("/proc/self/uid_map").write_text(f"{user} {user} 1")
            Path("/proc/self/gid_map").write_text(f"{group} {group} 1")
    except OSError as error:
        return f"no network of its own: {error.strerror}"
    return None


def confine_this_process(folder: Path) -> tuple[str, ...]:
    """Give up for ever what the analysis does not need; return what could not be given up, each with its reason.

    Parameters
    ----------
    folder : the process's own, laid out by `worker.parcel`

    The process must have one thread; it keeps the files that it has open.
    """
    call("prctl", _PR_SET_NO_NEW_PRIVS, 1, 0, 0, 0)
    return tuple(reason for reason in (_fence_files(folder), _filter_calls()) if reason is not None)


def _fence_files(folder: Path) -> str | None:
    """Restrict this process to its files by Landlock; return why that cannot be."""
    version = LIBC.syscall(_CREATE_RULESET, None, 0, _VERSION_FLAG)
    if version < 1:
        return f"no fence around files (Landlock): {os.strerror(ctypes.get_errno())}"
    rights = _ALL_FS[min(version, max(_ALL_FS))]
    wanted = _Ruleset(rights, _TCP if version >= 4 else 0, _SCOPES if version >= 6 else 0)
    size = 24 if version >= 6 else 16 if version >= 4 else 8
    try:
        ruleset = _syscall(_CREATE_RULESET, ctypes.byref(wanted), size, 0)
        _allow(ruleset, folder / OWN, rights & _OF_OWN)
        for name in (KEPT, RESULTS):
            _allow(ruleset, folder / name, rights & _OF_RESULTS)
        _allow(ruleset, folder / GIVEN, _READ_FILE | _READ_DIR)
        _allow(ruleset, Path(os.devnull), _READ_FILE | _WRITE_FILE)
        for path in dict.fromkeys((*_of_python(), *_of_system())):
            _allow(ruleset, path, _EXECUTE | _READ_FILE | _READ_DIR)
        _syscall(_RESTRICT_SELF, ruleset, 0)
        os.close(ruleset)
    except OSError as error:
        return f"no fence around files (Landlock): {error.strerror}"
    return None


def _allow(ruleset: int, path: Path, rights: int) -> None:
    """Let this process do some things with a file, or with all below a folder; what is not there needs no rule."""
    try:
        at = os.open(path, os.O_PATH | os.O_CLOEXEC)
    except (FileNotFoundError, NotADirectoryError):
        return
    try:
        rule = _Beneath(rights if path.is_dir() else rights & _OF_FILES, at)
        _syscall(_ADD_RULE, ruleset, _PATH_BENEATH, ctypes.byref(rule), 0)
    finally:
        os.close(at)


def _of_python() -> Iterator[Path]:
    """Yield where modules are loaded from."""
    yield from (Path(each or ".") for each in (sys.prefix, sys.base_prefix, sys.exec_prefix, *sys.path))


def _of_system() -> Iterable[Path]:
    """Return the system's libraries, and what they read when they begin to work."""
    names = ("/usr", "/lib", "/lib64", "/etc/ld.so.cache", "/etc/localtime", "/etc/fonts", "/dev/urandom")
    return map(Path, (*names, "/proc/self", "/proc/cpuinfo", "/proc/meminfo", "/sys/devices/system/cpu"))


def _filter_calls() -> str | None:
    """Forbid system calls that no analysis makes, and new processes; return why that cannot be."""
    if pyseccomp is None:
        return _NO_FILTER
    try:
        calls = pyseccomp.SyscallFilter(pyseccomp.ALLOW)
        refused = pyseccomp.ERRNO(errno.EPERM)
        for name in _FORBIDDEN:
            _forbid(calls, refused, name)
        thread = pyseccomp.Arg(0, pyseccomp.MASKED_EQ, _CLONE_THREAD, 0)
        _forbid(calls, refused, "clone", thread)
        _forbid(calls, pyseccomp.ERRNO(errno.ENOSYS), "clone3")  # its flags cannot be looked at; libraries fall back
        calls.load()
    except (OSError, RuntimeError) as error:
        return f"no system-call filter: {error}"
    return None


def _forbid(calls: "pyseccomp.SyscallFilter", action: int, name: str, *arguments: "pyseccomp.Arg") -> None:
    """Add a rule; a call that this architecture does not have needs none."""
    try:
        calls.add_rule(action, name, *arguments)
    except OSError as error:
        if error.errno not in {errno.EFAULT, errno.EDOM, errno.EINVAL}:
            raise


def _syscall(*arguments: object) -> int:
    return call("syscall", *arguments)
