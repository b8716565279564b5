"""A child that has been taken over reaches nothing but its model, its own folder and the folder of its result."""

import os
import socket
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.worker import escapes
from tests.worker.processes import ROOT
from worker import confine
from worker.limits import LIBC, Limits
from worker.outcome import Ending
from worker.sandbox import Sandbox

LIMITS = Limits(seconds=60)
MAY = {"read_model", "write_own", "write_result", "thread", "read_library"}


@pytest.fixture(scope="module")
def sandbox() -> Iterator[Sandbox]:
    """One helper for all tests of this file."""
    with Sandbox("tests.worker.escapes:act") as shared:
        yield shared


@pytest.fixture
def scene(tmp_path: Path) -> Iterator[dict[str, Any]]:
    """Lay out a model, a result folder, a secret beside them, and services that listen."""
    model, secret, out = tmp_path / "in" / "model.step", tmp_path / "home" / "secret", tmp_path / "out"
    for path in (model, secret):
        path.parent.mkdir()
        path.write_bytes(b"as it was")
    with socket.create_server(("127.0.0.1", 0)) as server, socket.socket(socket.AF_UNIX) as local:
        local.bind(str(tmp_path / "line"))
        local.listen()
        yield {
            "model": str(model), "secret": str(secret), "out": str(out), "port": server.getsockname()[1],
            "unix": str(tmp_path / "line"),
        }  # fmt: skip


def landlock() -> int:
    """Return the version of Landlock that this kernel has; -1 = none."""
    return int(LIBC.syscall(444, None, 0, 1))


def needs(wall: str, ending: Ending) -> None:
    """Skip where the platform lacks a wall, which then must have been told."""
    if any(wall in each for each in ending.missing):
        pytest.skip(f"this platform: {ending.missing}")


@pytest.mark.parametrize("name", sorted(escapes.TRIES))
def test_what_a_child_may(name: str, sandbox: Sandbox, scene: dict[str, Any]) -> None:
    """It reads its model and the libraries, writes its own and its result; all else is refused."""
    ending = sandbox.run({**scene, "tries": [name]}, LIMITS)
    assert ending.result is not None, ending.message
    for wall in ("network", "fence", "filter"):
        needs(wall, ending)
    if name == "kill_parent" and landlock() < 6:
        pytest.skip("Landlock keeps signals in from version 6")
    assert (ending.result[name] is None) == (name in MAY), ending.result
    assert Path(scene["model"]).read_bytes() == Path(scene["secret"]).read_bytes() == b"as it was"


def test_without_the_fence_all_of_it_would_work(scene: dict[str, Any], tmp_path: Path) -> None:
    """The tries are real: in a process that nothing holds, none of them is refused."""
    tries = sorted(set(escapes.TRIES) - {"remove_model", "rename_model", "hard_link_in_result"})  # undo one another
    code = f"from tests.worker.escapes import act; print(act({ {**scene, 'tries': tries}!r}, print))"
    Path(scene["out"]).mkdir()
    done = subprocess.run(
        [sys.executable, "-c", code],
        cwd=tmp_path,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        capture_output=True,
        text=True,
    )
    assert done.stdout.strip() == str(dict.fromkeys(tries)), done.stderr


OLD_KERNEL = """
import ctypes, errno, types
def syscall(*_):
    ctypes.set_errno(errno.ENOSYS)
    return -1
confine.LIBC = types.SimpleNamespace(syscall=syscall)
"""
NO_LIBRARY = "confine.pyseccomp, confine._NO_FILTER = None, 'no system-call filter: libseccomp is missing'"


@pytest.mark.parametrize(
    ("put", "word"),
    [(OLD_KERNEL, "no fence around files"), (NO_LIBRARY, "no system-call filter")],
    ids=["no-landlock", "no-libseccomp"],
)
def test_a_platform_without_a_wall_is_told(put: str, word: str, tmp_path: Path) -> None:
    """The other wall stands all the same, and the reason is named; in a process of its own, for it is for ever."""
    code = (
        f"from pathlib import Path; from worker import confine, parcel\n{put}\n"
        f"folder = Path({str(tmp_path)!r}); parcel.lay_out(folder)\n"
        "for each in confine.confine_this_process(folder): print(each)"
    )
    done = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True)
    assert word in done.stdout


def test_the_reason_is_logged_once(caplog: pytest.LogCaptureFixture) -> None:
    """Not with every one of a thousand files."""
    sandbox = Sandbox("tests.worker.escapes:act")
    for _ in range(3):
        sandbox._tell_once(["no fence around files: too old"])
    assert [each.getMessage() for each in caplog.records] == [
        "analyses run with less protection: no fence around files: too old"
    ]


def test_every_call_that_is_forbidden_is_known() -> None:
    """No name in the list is misspelt: the library knows each on this architecture or another."""
    pyseccomp = sys.modules.get("pyseccomp")
    if pyseccomp is None:
        pytest.skip("no libseccomp on this machine")
    unknown = [each for each in confine._FORBIDDEN if pyseccomp.resolve_syscall(None, each) == -1]
    assert unknown == []
