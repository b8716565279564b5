"""A child may take several sound files; none of them ever meets what another left behind."""

import os
import threading
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.worker.processes import children
from tests.worker.test_sandbox import wait_until
from worker.limits import Limits
from worker.outcome import Ending
from worker.sandbox import Sandbox, Stop

LIMITS = Limits(seconds=60, memory_mib=500, files=3)


@pytest.fixture
def sandbox() -> Iterator[Sandbox]:
    """Start a helper of its own for each test: which children there are is what is tested."""
    with Sandbox("tests.worker.siblings:act") as own:
        yield own


def did(ending: Ending) -> dict[str, Any]:
    """Return the result of a job that must have finished."""
    assert ending.result is not None, ending.message
    return ending.result


def run(sandbox: Sandbox, do: str, limits: Limits = LIMITS, **more: object) -> dict[str, Any]:
    """Do one job and return its result."""
    return did(sandbox.run({"do": do, **more}, limits))


def test_sound_jobs_share_a_child_up_to_the_limit(sandbox: Sandbox) -> None:
    """Three in one, three in the next."""
    pids = [run(sandbox, "nothing")["pid"] for _ in range(6)]
    assert len({*pids[:3]}) == len({*pids[3:]}) == 1
    assert pids[0] != pids[3]


def test_one_file_each_is_a_child_each(sandbox: Sandbox) -> None:
    """Whoever trusts no file gets what there was before."""
    alone = Limits(seconds=60, memory_mib=500, files=1)
    assert len({run(sandbox, "nothing", alone)["pid"] for _ in range(4)}) == 4


def test_after_an_odd_job_its_child_takes_no_other(sandbox: Sandbox) -> None:
    """Its result stands; the next job is in another process."""
    first = run(sandbox, "nothing", sound=False)
    second = run(sandbox, "nothing")
    assert first["pid"] != second["pid"]


def test_other_limits_are_another_child(sandbox: Sandbox) -> None:
    """What a process may take cannot be raised again."""
    first = run(sandbox, "nothing")
    assert run(sandbox, "nothing", Limits(seconds=60, memory_mib=600, files=3))["pid"] != first["pid"]
    assert run(sandbox, "nothing")["pid"] == first["pid"]


@pytest.mark.parametrize("fault", ["crash", "raise", "hang"])
def test_what_one_left_behind_hurts_no_other(sandbox: Sandbox, fault: str) -> None:
    """A fault that would strike whoever comes next in the process: the next is done again in a fresh one."""
    limits = Limits(seconds=1.5, memory_mib=500, files=3)
    first = run(sandbox, "leave_fault", limits, fault=fault)
    stages: list[str] = []
    ending = sandbox.run({"do": "nothing"}, limits, stages.append)
    assert did(ending)["pid"] != first["pid"]
    assert stages == ["nothing", "nothing"]
    assert (ending.detail, ending.again) == ("", False)


def test_a_fault_of_its_own_is_told_once_and_truly(sandbox: Sandbox) -> None:
    """In the used child and in the fresh one it fails; the reason is that of the fresh one."""
    run(sandbox, "nothing")
    ending = sandbox.run({"do": "raise"}, LIMITS)
    assert (ending.how, ending.stage, ending.again) == ("failed", "raise", False)
    assert "ZeroDivisionError" in ending.message
    run(sandbox, "nothing")
    assert sandbox.run({"do": "crash"}, LIMITS).how == "crashed"
    run(sandbox, "nothing")
    assert sandbox.run({"do": "hang"}, Limits(seconds=0.4, files=3)).how == "out_of_time"


def test_a_child_that_has_grown_takes_no_other(sandbox: Sandbox) -> None:
    """Whoever comes next has all of the memory that a file may take."""
    first = run(sandbox, "hoard", mib=200)
    assert run(sandbox, "nothing")["pid"] != first["pid"]


def test_the_peak_of_memory_is_of_the_one_job(sandbox: Sandbox) -> None:
    """What another took before does not count."""
    limits = Limits(seconds=60, memory_mib=2000, files=3)
    large = sandbox.run({"do": "hoard", "mib": 200}, limits)
    run(sandbox, "drop_hoard", limits)
    small = sandbox.run({"do": "nothing"}, limits)
    assert did(large)["pid"] == did(small)["pid"]
    assert large.peak_mib > 200 > small.peak_mib > 1


def test_each_job_has_its_own_time(sandbox: Sandbox) -> None:
    """By the clock and by the processor: two together may take longer than one may."""
    limits = Limits(seconds=4, memory_mib=500, files=3)
    spent = run(sandbox, "spin", limits, seconds=2.5)
    again = run(sandbox, "nap", limits, seconds=2.5)
    left = run(sandbox, "limits", limits)
    assert spent["pid"] == again["pid"] == left["pid"]
    assert left["left_s"] > limits.seconds * (os.cpu_count() or 1) - 1


def test_no_job_sees_anothers_files_or_words(sandbox: Sandbox, tmp_path: Path) -> None:
    """Models, results, scratch files, messages: all are gone before the next."""
    model = tmp_path / "model.step"
    model.write_text("x")
    ending = sandbox.run({"do": "litter", "given": [str(model)], "out": str(tmp_path / "out")}, LIMITS)
    assert ending.detail == "words of the first\n"
    assert (tmp_path / "out" / "left").read_text() == "x"
    ending = sandbox.run({"do": "look", "out": str(tmp_path / "second")}, LIMITS)
    assert set(did(ending)["found"]) <= {"stderr"}  # the fence hides even that
    assert ending.detail == ""
    assert not (tmp_path / "second").exists()


def test_files_go_in_and_come_out(sandbox: Sandbox, tmp_path: Path) -> None:
    """Two of one name stay two; what is kept comes back changed, what was given does not; half files stay behind."""
    given = [tmp_path / each / "model.step" for each in ("a", "b")]
    for path in given:
        path.parent.mkdir()
        path.write_text(f"model {path.parent.name}")
    facts, out = tmp_path / "facts", tmp_path / "deep" / "out"
    facts.write_text("facts")
    files: dict[str, Any] = {"given": [str(each) for each in given], "kept": [str(facts)], "out": str(out)}
    assert run(sandbox, "read", **files)["read"] == ["model a", "model b", "facts"]
    before = facts.stat()
    run(sandbox, "nothing", **files)
    assert (facts.stat().st_ino, facts.stat().st_mtime_ns) == (before.st_ino, before.st_mtime_ns)
    run(sandbox, "write", **files, write={"report.json": "{}", ".report.json.tmp": "{"}, add=" and more")
    assert facts.read_text() == "facts and more"
    assert [each.name for each in out.iterdir()] == ["report.json"]
    assert [each.read_text() for each in given] == ["model a", "model b"]


def test_a_file_that_is_not_there_is_not_found_by_the_child_either(sandbox: Sandbox, tmp_path: Path) -> None:
    """The child's own words for it stand in the report."""
    ending = sandbox.run({"do": "read", "given": [str(tmp_path / "none.step")]}, LIMITS)
    assert "FileNotFoundError" in ending.message
    assert "none.step" in ending.message


def test_results_that_cannot_be_written_are_a_failure(sandbox: Sandbox, tmp_path: Path) -> None:
    """A file stands where the folder should be; the reason names it, and the next job goes well."""
    (tmp_path / "out").write_text("in the way")
    ending = sandbox.run({"do": "write", "out": str(tmp_path / "out"), "kept": [], "write": {"a": "x"}}, LIMITS)
    assert ending.how == "failed"
    assert str(tmp_path / "out") in ending.message
    run(sandbox, "nothing")


def test_a_job_cancelled_in_a_used_child_is_not_begun_again(sandbox: Sandbox) -> None:
    """It ends as cancelled, once."""
    run(sandbox, "nothing")
    stop = Stop()
    stages: list[str] = []
    thread = threading.Timer(0.5, stop.ask)
    thread.start()
    ending = sandbox.run({"do": "hang"}, LIMITS, stages.append, stop)
    assert (ending.how, stages) == ("cancelled", ["hang"])


def test_a_waiting_child_dies_with_its_helper(sandbox: Sandbox) -> None:
    """None is left behind."""
    pid = run(sandbox, "nothing")["pid"]
    assert any(pid in children(helper) for helper in children(os.getpid()))
    sandbox.close()
    wait_until("the child is gone", lambda: not Path(f"/proc/{pid}").exists())


def test_a_waiting_child_goes_after_a_while(sandbox: Sandbox) -> None:
    """It holds memory that others may want; the next job has a new one."""
    pid = run(sandbox, "nothing")["pid"]
    wait_until("the child is gone", lambda: not Path(f"/proc/{pid}").exists(), seconds=20)
    assert run(sandbox, "nothing")["pid"] != pid
