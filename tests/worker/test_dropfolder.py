"""Models dropped into a folder."""

import json
import os
import zipfile
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
from sqlalchemy import select

from tests.worker.object_store import STORES, store_url
from tests.worker.processes import CALL
from tests.worker.study import runner
from worker.dropfolder import DropFolder
from worker.intake import Intake, Terms
from worker.later_exports import ExportFailed, LaterExports
from worker.ledger import Entry, Ledger
from worker.ledger_tables import JOBS
from worker.limits import Limits
from worker.queues import EmbeddedQueue
from worker.sandbox import ANALYSIS, Sandbox
from worker.state import State

MOST_BYTES = 100_000
over_both_stores = pytest.mark.parametrize("bench", STORES, indirect=True)


class Bench:
    """A drop folder over a service whose workers work when told to."""

    def __init__(self, folder: Path, store: str | None, call: str = CALL) -> None:
        self.state = State(folder / "state", store)
        self.ledger = Ledger(self.state.ledger_url)
        self.sandbox = Sandbox(call)
        self.runner = runner(self.ledger, self.state, self.sandbox, Limits())
        queue = EmbeddedQueue(self.runner, 0)
        self.intake = Intake(self.ledger, self.state, queue, most_bytes=MOST_BYTES)
        self.inbox = folder / "in"
        self.drop = self.folder()

    def folder(self, quiet_s: float = 0.0) -> DropFolder:
        """Return a watcher of the inbox: one more machine."""
        exports = LaterExports(self.state, self.sandbox, Limits())
        return DropFolder(self.inbox, self.intake, self.ledger, self.state, exports, Terms(), quiet_s=quiet_s)

    def put(self, name: str, text: str = "fine") -> Path:
        """Drop a file."""
        path = self.inbox / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text)
        return path

    def jobs(self) -> list[Entry]:
        """Return all jobs in the order of their arrival."""
        return self.ledger.select(select(JOBS).order_by(JOBS.c.number))

    def work(self) -> None:
        """Let workers finish what waits, and the folder deliver it."""
        while self.runner.work_one():
            pass
        self.drop.look()

    def tree(self) -> list[str]:
        """Return all files beside and in the inbox."""
        beside = [each for each in self.inbox.parent.glob("in*/**/*") if each.is_file()]
        return sorted(str(each.relative_to(self.inbox.parent)) for each in beside)


@pytest.fixture
def bench(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Bench]:
    """Set up an empty drop folder, over an object store where the test asks for one."""
    made = Bench(tmp_path, store_url(request) if hasattr(request, "param") else None)
    yield made
    made.sandbox.close()
    made.ledger.close()


@over_both_stores
def test_a_dropped_model_gets_its_result(bench: Bench) -> None:
    """The report lies in the results, the original is put away, the inbox is empty; sub-folders stay."""
    bench.put("order 7/plate.step")
    bench.drop.look()
    assert [each.file_name for each in bench.jobs()] == ["order 7/plate.step"]
    bench.work()
    assert bench.tree() == ["in-done/order 7/plate.step", "in-results/order 7/plate.step/report.json"]
    assert all(each.delivered for each in bench.jobs())


@over_both_stores
def test_a_model_that_cannot_be_analysed_is_set_aside_with_the_reason(bench: Bench) -> None:
    """The original lies beside a text file; there is a report all the same."""
    bench.put("bad.stp", "crash")
    bench.drop.look()
    bench.work()
    assert bench.tree() == [
        "in-results/bad.stp/report.html",
        "in-results/bad.stp/report.json",
        "in-set-aside/bad.stp",
        "in-set-aside/bad.stp.reason.txt",
    ]
    reason = (bench.inbox.parent / "in-set-aside" / "bad.stp.reason.txt").read_text()
    assert reason.startswith("bad.stp: The analysis crashed (SIGSEGV)")


def test_a_file_that_still_grows_waits(bench: Bench, monkeypatch: pytest.MonkeyPatch) -> None:
    """Size and time must have stayed for the quiet time, counted from the last change."""
    clock = [100.0]
    monkeypatch.setattr("worker.dropfolder.time.monotonic", lambda: clock[0])
    drop = bench.folder(quiet_s=4.0)
    path = bench.put("slow.step", "half")
    for moment in (100.0, 103.9):
        clock[0] = moment
        drop.look()
    path.write_text("half and more")
    for moment in (104.1, 108.0):
        clock[0] = moment
        drop.look()
        assert bench.jobs() == []
    clock[0] = 108.1
    drop.look()
    assert [each.size_bytes for each in bench.jobs()] == [len("half and more")]


@pytest.mark.parametrize("name", [".plate.step", "plate.step.part", "plate.txt", ".hidden/plate.step"])
def test_other_files_stay_where_they_are(bench: Bench, name: str) -> None:
    """Hidden names are copies under way; other kinds are none of our business."""
    bench.put(name)
    bench.drop.look()
    assert bench.jobs() == []
    assert bench.tree() == [f"in/{name}"]


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("plate.toml", 'repair = true\nquantity = 20\ndue = 2027-03-01\ncustomer = "order 7"\npriority = 2\n'),
        (
            "plate.step.json",
            '{"repair": true, "quantity": 20, "due": "2027-03-01", "customer": "order 7", "priority": 2}',
        ),
    ],
)
def test_a_sidecar_says_what_the_order_says(bench: Bench, name: str, text: str) -> None:
    """It goes the way of its model."""
    bench.put(name, text)
    bench.put("plate.step")
    bench.drop.look()
    (job,) = bench.jobs()
    assert (job.quantity, job.due, job.customer, job.priority, job.repair) == (20, "2027-03-01", "order 7", 2, True)
    suffix = Path(name).suffix
    assert bench.tree() == ["in-done/plate.step", f"in-done/plate.step{suffix}"]


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("quantty = 2", "quantty"),
        ("quantity = 0", "quantity"),
        ("quantity = ", "expected TOML"),
        ('material = "unobtainium"', "unobtainium"),
        ('due = "soon"', "due"),
    ],
)
def test_a_wrong_sidecar_sets_its_model_aside(bench: Bench, text: str, said: str) -> None:
    """Nothing is analysed by guessed terms; the reason is one line."""
    bench.put("plate.toml", text)
    bench.put("plate.step")
    bench.drop.look()
    assert bench.jobs() == []
    assert bench.tree() == [f"in-set-aside/plate.step{each}" for each in ("", ".reason.txt", ".toml")]
    reason = (bench.inbox.parent / "in-set-aside" / "plate.step.reason.txt").read_text()
    assert said in reason
    assert len(reason.splitlines()) == 1


def test_a_file_that_is_too_large_is_set_aside(bench: Bench) -> None:
    """The limit is the service's own."""
    bench.put("large.step", "x" * (MOST_BYTES + 1))
    bench.drop.look()
    assert bench.tree() == ["in-set-aside/large.step", "in-set-aside/large.step.reason.txt"]


@over_both_stores
def test_an_archive_has_a_result_for_each_member(bench: Bench) -> None:
    """Names that lead out become harmless folders."""
    with zipfile.ZipFile(bench.inbox / "order.zip", "w") as file:
        file.writestr("a/plate.step", "fine")
        file.writestr("../../evil.step", "fine")
    bench.drop.look()
    assert [each.member for each in bench.jobs()] == ["../../evil.step", "a/plate.step"]
    bench.work()
    results = [each for each in bench.tree() if each.startswith("in-results")]
    assert results == [
        "in-results/order.zip/_.._evil.step/report.json",
        "in-results/order.zip/a_plate.step/report.json",
    ]


def test_odd_names_become_harmless(bench: Bench) -> None:
    """Bytes that are no text, control characters and dots: taken, reported, nothing outside the folders."""
    for name in (b"\xff\xfe.step", b"a\nb.step", b" .step", b"-rf.step"):
        (Path(os.fsdecode(os.path.join(os.fsencode(bench.inbox), name)))).write_text("fine")  # noqa: PTH118  # bytes
    bench.drop.look()
    bench.work()
    assert {each.state for each in bench.jobs()} == {"done"}
    assert len([each for each in bench.tree() if each.endswith("report.json")]) == 4
    assert not [each for each in bench.tree() if each.startswith("in/")]


def test_the_same_name_twice_keeps_both_originals(bench: Bench) -> None:
    """The later result stands; no original is lost."""
    for text in ("fine 1", "fine 2"):
        bench.put("plate.step", text)
        bench.drop.look()
        bench.work()
    done = bench.inbox.parent / "in-done"
    assert {each.read_text() for each in done.iterdir()} == {"fine 1", "fine 2"}


def test_the_same_bytes_come_back_under_each_name(parts: Path, tmp_path: Path) -> None:
    """There is one result; in neither page nor document does the name stand that the other copy was dropped under."""
    bench = Bench(tmp_path, None, ANALYSIS)
    text = (parts / "link_bar.step").read_text()
    names = ("first order.step", "second order.step")
    for name in names:
        bench.put(name, text)
        bench.drop.look()
        bench.work()
    for name, other in (names, names[::-1]):
        folder = bench.inbox.parent / "in-results" / name
        assert json.loads((folder / "report.json").read_text())["source"]["file_name"] == name
        page = (folder / "report.html").read_text()
        assert name in page
        assert other not in page
    bench.sandbox.close()
    bench.ledger.close()


def test_a_page_that_cannot_be_made_anew_is_the_first_senders(bench: Bench, monkeypatch: pytest.MonkeyPatch) -> None:
    """Better that than none."""
    bench.put("plate.step")
    bench.drop.look()
    while bench.runner.work_one():
        pass
    (entry,) = bench.jobs()
    assert entry.folder is not None
    (bench.state.result(entry.folder) / "report.html").write_text("the shared page")

    def fail(*_: object) -> None:
        raise ExportFailed("report.html could not be made.")

    monkeypatch.setattr(LaterExports, "page", fail)
    bench.drop.look()
    assert (bench.inbox.parent / "in-results" / "plate.step" / "report.html").read_text() == "the shared page"


def test_what_was_taken_before_an_interruption_is_entered_once(bench: Bench, monkeypatch: pytest.MonkeyPatch) -> None:
    """Killed between entering the job and putting the original away, the next start enters no second job."""

    def die(*_: object) -> None:
        raise KeyboardInterrupt

    bench.put("plate.step")
    with monkeypatch.context() as patch:
        patch.setattr("worker.dropfolder._move", die)
        with pytest.raises(KeyboardInterrupt):
            bench.drop.look()
    assert len(bench.jobs()) == 1
    bench.folder().look()
    assert len(bench.jobs()) == 1
    bench.work()
    assert "in-done/plate.step" in bench.tree()


def test_several_machines_take_each_file_once(bench: Bench) -> None:
    """Four watchers of one inbox: every model has one job."""
    for number in range(60):
        bench.put(f"plate{number}.step", f"fine {number}")
    watchers = [bench.folder() for _ in range(4)]
    for number, watcher in enumerate(watchers):
        watcher._taken = watcher._taken.with_name(f".taken-by-{number}")
        watcher._taken.mkdir()
    with ThreadPoolExecutor(4) as pool:
        for done in [pool.submit(watcher.look) for watcher in watchers]:
            done.result()
    assert sorted(each.file_name for each in bench.jobs()) == sorted(f"plate{number}.step" for number in range(60))
