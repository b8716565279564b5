"""Old jobs go with what is kept for them; what interruptions left goes too; nothing else does."""

import datetime
import os
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from sqlalchemy import update

from tests.worker.processes import CALL
from tests.worker.study import runner
from worker.housekeeping import LEFTOVER_S, Housekeeping
from worker.intake import Intake, Terms
from worker.ledger import Ledger
from worker.ledger_tables import JOBS
from worker.sandbox import Sandbox
from worker.state import State


class _Nobody:
    def wake(self, jobs: int) -> None:
        """Wake nobody."""


@pytest.fixture
def parts(tmp_path: Path, store: str | None) -> Iterator[tuple[Ledger, State, Intake]]:
    """Put ledger, state folder and intake together."""
    state = State(tmp_path / "state", store)
    ledger = Ledger(state.ledger_url)
    yield ledger, state, Intake(ledger, state, _Nobody())
    ledger.close()


def days_ago(days: float) -> str:
    """Return the time as the ledger writes it."""
    return (datetime.datetime.now(datetime.UTC) - datetime.timedelta(days=days)).isoformat(timespec="milliseconds")


def test_jobs_past_their_time_go_with_their_files(parts: tuple[Ledger, State, Intake]) -> None:
    """Those that wait, and those that ended lately, stay."""
    ledger, state, intake = parts
    old, new = (intake.take([name.encode()], f"{name}.step", Terms())[0] for name in ("fine old", "fine new"))
    with Sandbox(CALL) as sandbox:
        worker = runner(ledger, state, sandbox)
        assert worker.work_one()
        assert worker.work_one()
    waiting = intake.take([b"fine waiting"], "w.step", Terms())[0]
    with ledger.change() as connection:
        for entry, days in ((old, 31), (new, 29)):
            connection.execute(update(JOBS).where(JOBS.c.id == entry.id).values(ended_at=days_ago(days)))
    assert Housekeeping(ledger, state, intake, None).tidy() == 0
    assert Housekeeping(ledger, state, intake, 30).tidy() == 1
    assert ledger.get(old.id) is None
    assert not state.storage.has(state.path(old.file_digest))
    for entry in (new, waiting):
        assert ledger.get(entry.id) is not None
        assert state.storage.has(state.path(entry.file_digest))
    assert len(list(state.storage.kept(state.folder / "results"))) == 1


def test_a_clock_put_forward_removes_nothing(
    parts: tuple[Ledger, State, Intake], monkeypatch: pytest.MonkeyPatch
) -> None:
    """The time runs on by the steady clock from when the service began."""
    ledger, state, intake = parts
    entry = intake.take([b"fine"], "a.step", Terms())[0]
    ledger.cancel(entry.id)
    house = Housekeeping(ledger, state, intake, 30)
    monkeypatch.setattr(time, "time", lambda: 4e9)
    assert house.tidy() == 0


def test_leftovers_of_a_day_ago_go(tmp_path: Path) -> None:
    """A half-received file and a result that no job has; young ones may still be in work."""
    state = State(tmp_path / "state")
    ledger = Ledger(state.ledger_url)
    intake = Intake(ledger, state, _Nobody())
    for name, age in (("young", 60.0), ("old", LEFTOVER_S + 60)):
        file, folder = state.folder / "incoming" / name, state.result(f"{name}-1-1")
        file.write_text("half")
        folder.mkdir(parents=True)
        for path in (file, folder):
            os.utime(path, (time.time() - age,) * 2)
    Housekeeping(ledger, state, intake, None).tidy()
    left = [*state.folder.glob("incoming/*"), *state.folder.glob("results/*/*")]
    assert sorted(each.name for each in left) == ["young", "young-1-1"]
    ledger.close()


def test_results_that_no_job_has_go(parts: tuple[Ledger, State, Intake], monkeypatch: pytest.MonkeyPatch) -> None:
    """What a worker sent before it died goes from wherever results are kept; what a job has stays, however old."""
    ledger, state, intake = parts
    (entry,) = intake.take([b"fine"], "a.step", Terms())
    with Sandbox(CALL) as sandbox:
        assert runner(ledger, state, sandbox).work_one()
    lost = state.result("lost-1-1") / "report.json"
    lost.parent.mkdir(parents=True)
    lost.write_text("{}")
    state.storage.send(lost)
    house = Housekeeping(ledger, state, intake, None)
    house.tidy()
    assert state.storage.has(lost)
    monkeypatch.setattr("worker.housekeeping.LEFTOVER_S", -5.0)
    house.tidy()
    assert not state.storage.has(lost)
    done = ledger.get(entry.id)
    assert done is not None
    assert done.folder is not None
    assert [path.name for path, _ in state.storage.kept(state.folder / "results")] == [done.folder]
