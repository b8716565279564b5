"""Real children that really go wrong."""

import os
import signal
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

from tests.worker.processes import children
from worker.limits import Limits
from worker.sandbox import Sandbox, Stop

MISDEEDS = "tests.worker.misdeeds:act"
AMPLE = Limits(seconds=60, memory_mib=500)


@pytest.fixture(scope="module")
def sandbox() -> Iterator[Sandbox]:
    """One helper process for all tests of this file, as a batch has one for all its files."""
    with Sandbox(MISDEEDS) as shared:
        yield shared


def alive(pid: int) -> bool:
    """Return True where the process exists and is no zombie."""
    try:
        return Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0] != "Z"
    except FileNotFoundError:
        return False


def wait_until(what: str, condition: object, seconds: float = 10.0) -> None:
    """Wait for a callable to become true."""
    assert callable(condition)
    end = time.monotonic() + seconds
    while not condition():
        assert time.monotonic() < end, f"still not: {what}"
        time.sleep(0.01)


def test_a_result_comes_back(sandbox: Sandbox) -> None:
    """The function's result, the stages and the child's use of time and memory reach the caller."""
    stages: list[str] = []
    ending = sandbox.run({"do": "add", "a": 2, "b": 3}, AMPLE, stages.append)
    assert (ending.how, ending.result, stages) == ("finished", {"sum": 5}, ["add"])
    assert ending.message == ""
    assert 0 < ending.seconds < 10
    assert 1 < ending.peak_mib < AMPLE.memory_mib


@pytest.mark.parametrize(
    ("misdeed", "how", "words"),
    [
        ("segfault", "crashed", 'crashed (SIGSEGV) in stage "segfault"'),
        ("abort", "crashed", "crashed (SIGABRT)"),
        ("be_cut_off", "killed", "killed from outside"),
        ("fail", "failed", "KeyError: 'no such face'"),
        ("leave", "failed", "no word why"),
        ("gulp", "out_of_memory", "memory limit of 500 MiB"),
        ("gulp_natively", "out_of_memory", "memory limit of 500 MiB"),
        ("hoard", "out_of_memory", "memory limit of 500 MiB"),
    ],
)
def test_a_misdeed_is_one_result_with_its_true_reason(sandbox: Sandbox, misdeed: str, how: str, words: str) -> None:
    """Whatever kills a child, the reason is named and the next job runs as if nothing had been."""
    ending = sandbox.run({"do": misdeed}, AMPLE)
    assert (ending.how, ending.result, ending.stage) == (how, None, misdeed)
    assert words in ending.message
    assert sandbox.run({"do": "add", "a": 1, "b": 1}, AMPLE).result == {"sum": 2}


def test_a_hanging_child_is_killed_at_its_time_limit(sandbox: Sandbox) -> None:
    """A child that blocks every signal in native code ends within a second of its limit."""
    start = time.monotonic()
    ending = sandbox.run({"do": "hang"}, Limits(seconds=0.5))
    assert ending.how == "out_of_time"
    assert "time limit of 0.5 s" in ending.message
    assert 0.5 <= time.monotonic() - start < 1.5


def test_a_child_just_below_its_limits_finishes(sandbox: Sandbox, tmp_path: Path) -> None:
    """A limit that is kept does nothing."""
    job = {"do": "nap", "mark": str(tmp_path / "mark"), "seconds": 0.3}
    assert sandbox.run(job, Limits(seconds=20)).how == "finished"
    assert (tmp_path / "mark").read_text() == "done"


def test_processor_time_is_limited_even_when_nobody_watches(sandbox: Sandbox) -> None:
    """With the watcher stopped, the kernel itself ends an endless loop, and the reason given is time."""
    ending = sandbox.run({"do": "spin", "release_s": 4 + (os.cpu_count() or 1)}, Limits(seconds=0.2))
    assert ending.how == "out_of_time"


def test_noise_from_a_child_is_no_message(sandbox: Sandbox, capfd: pytest.CaptureFixture[str]) -> None:
    """Prints, endless lines, broken text and a forged end disturb neither the result nor the terminal."""
    ending = sandbox.run({"do": "babble"}, AMPLE)
    assert ending.result == {"fine": True}
    assert "noise" in ending.detail
    assert capfd.readouterr() == ("", "")


def test_a_child_sees_only_its_own(sandbox: Sandbox) -> None:
    """A child has a temporary folder of its own, gone afterwards, its own session, and one line to the outside."""
    first = sandbox.run({"do": "look_around"}, AMPLE).result
    second = sandbox.run({"do": "look_around"}, AMPLE).result
    assert first is not None
    assert second is not None
    assert first["folder"] != second["folder"]
    assert first["folder"] == first["temporary"] == first["environment"]
    assert not Path(first["folder"]).exists()
    assert first["session"]
    assert first["sockets"] == 2


def test_what_a_child_started_ends_with_it(sandbox: Sandbox) -> None:
    """No grandchild outlives its job."""
    result = sandbox.run({"do": "have_children"}, AMPLE).result
    assert result is not None
    wait_until("the grandchild is gone", lambda: not alive(result["pid"]))


def test_many_at_once(sandbox: Sandbox) -> None:
    """Jobs from several threads do not mix up their results, with crashes and hangs between them."""
    kinds = [{"do": "add", "a": n, "b": 0} if n % 4 else {"do": "segfault"} for n in range(60)]
    with ThreadPoolExecutor(4) as pool:
        endings = list(pool.map(lambda job: sandbox.run(job, AMPLE), kinds))
    assert [each.result for each in endings] == [{"sum": n} if n % 4 else None for n in range(60)]


def test_nothing_piles_up(sandbox: Sandbox) -> None:
    """After 200 jobs, a quarter of them crashes, no descriptor and no child is left."""

    def use() -> tuple[int, int]:
        return len(list(Path("/proc/self/fd").iterdir())), threading.active_count()

    sandbox.run({"do": "add", "a": 1, "b": 1}, AMPLE)
    before = use()
    for number in range(200):
        sandbox.run({"do": "add", "a": 1, "b": 1} if number % 4 else {"do": "abort"}, AMPLE)
    assert use() == before
    helpers = [pid for pid in children(os.getpid()) if b"worker.forker" in Path(f"/proc/{pid}/cmdline").read_bytes()]
    assert helpers
    assert [pid for helper in helpers for pid in children(helper)] == []


def test_a_helper_that_is_killed_is_replaced(tmp_path: Path) -> None:
    """When the forking process itself is killed, the job is begun once more."""
    with Sandbox(MISDEEDS) as own:
        ending = own.run({"do": "kill_forker", "mark": str(tmp_path / "mark")}, AMPLE)
        assert ending.result == {"survived": True}


def test_a_job_that_always_kills_the_helper_is_given_up(tmp_path: Path) -> None:
    """Twice is enough; other jobs go on."""
    with Sandbox(MISDEEDS) as own:
        ending = own.run({"do": "kill_forker", "mark": str(tmp_path / "mark"), "always": True}, AMPLE)
        assert (ending.how, ending.result) == ("killed", None)
        assert "twice" in ending.message
        assert own.run({"do": "add", "a": 1, "b": 1}, AMPLE).result == {"sum": 2}


def test_closing_cancels(tmp_path: Path) -> None:
    """Closing the sandbox kills what runs; the waiting thread learns that it was cancelled; no folder is left."""
    mark = tmp_path / "mark"
    before = set(Path(tempfile.gettempdir()).glob("partsieve-*"))
    own = Sandbox(MISDEEDS)
    with ThreadPoolExecutor(1) as pool:
        waiting = pool.submit(own.run, {"do": "nap", "mark": str(mark), "seconds": 60}, AMPLE)
        wait_until("begun", lambda: mark.exists() and mark.read_text())
        own.close()
        ending = waiting.result(timeout=10)
    assert ending.how == "cancelled"
    wait_until("killed", lambda: not alive(int(mark.read_text())))
    assert set(Path(tempfile.gettempdir()).glob("partsieve-*")) == before


def test_one_job_can_be_stopped(sandbox: Sandbox, tmp_path: Path) -> None:
    """The child is killed and the job ends as cancelled; its neighbour goes on."""
    marks = [tmp_path / "stopped", tmp_path / "neighbour"]
    stop = Stop()
    with ThreadPoolExecutor(2) as pool:
        jobs = [
            {"do": "nap", "mark": str(mark), "seconds": seconds} for mark, seconds in zip(marks, (60, 1), strict=True)
        ]
        stopped = pool.submit(sandbox.run, jobs[0], AMPLE, stop=stop)
        neighbour = pool.submit(sandbox.run, jobs[1], AMPLE)
        wait_until("both begun", lambda: all(mark.exists() and mark.read_text() for mark in marks))
        child = int(marks[0].read_text())
        stop.ask()
        assert stopped.result(timeout=10).how == "cancelled"
        assert neighbour.result(timeout=10).how == "finished"
    wait_until("killed", lambda: not alive(child))


def test_a_job_stopped_before_it_begins_never_runs(sandbox: Sandbox, tmp_path: Path) -> None:
    """Whoever asks early is heard too."""
    stop = Stop()
    stop.ask()
    job = {"do": "nap", "mark": str(tmp_path / "mark"), "seconds": 60}
    assert sandbox.run(job, AMPLE, stop=stop).how == "cancelled"


@pytest.mark.parametrize("deadly", [signal.SIGKILL, signal.SIGTERM])
def test_nothing_outlives_its_owner(tmp_path: Path, deadly: signal.Signals) -> None:
    """When the process that owns the sandbox dies without a word, its helper and its children die too."""
    mark = tmp_path / "mark"
    code = (
        "from worker.sandbox import Sandbox; from worker.limits import Limits; "
        f"Sandbox({MISDEEDS!r}).run({{'do': 'nap', 'mark': {str(mark)!r}, 'seconds': 60}}, Limits())"
    )
    owner = subprocess.Popen([sys.executable, "-c", code], cwd=Path(__file__).parents[2])
    wait_until("begun", lambda: mark.exists() and mark.read_text())
    child = int(mark.read_text())
    helper = int(Path(f"/proc/{child}/stat").read_text().rpartition(")")[2].split()[1])
    owner.send_signal(deadly)
    owner.wait()
    wait_until("child and helper are gone", lambda: not alive(child) and not alive(helper))


def test_a_function_that_cannot_be_loaded_is_an_error_of_ours(capfd: pytest.CaptureFixture[str]) -> None:
    """Only a broken installation raises."""
    with Sandbox("tests.worker.no_such_module:act") as own, pytest.raises(RuntimeError, match="cannot be loaded"):
        own.run({}, AMPLE)
    assert "ModuleNotFoundError" in capfd.readouterr().err


@pytest.mark.parametrize("limits", [{"seconds": 0}, {"seconds": -1.0}, {"memory_mib": 0}])
def test_a_limit_of_nothing_is_refused(limits: dict[str, int]) -> None:
    """Limits are positive."""
    with pytest.raises(ValueError, match="positive"):
        Limits(**limits)
