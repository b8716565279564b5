"""Both queues, by the same promises."""

import errno
import os
import threading
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager
from pathlib import Path
from typing import Any

import pytest

from tests.worker.object_store import STORES, store_url
from tests.worker.processes import CALL, Redis, Workers, wait_until
from tests.worker.study import runner, submit
from worker.ledger import DEATHS, TRIES, Entry, Ledger
from worker.queues import CeleryQueue, EmbeddedQueue, WakeUp, celery_app
from worker.sandbox import Sandbox
from worker.state import State
from worker.store import DOCUMENT, read_document

over_both_stores = pytest.mark.parametrize("state", STORES, indirect=True)

Service = Callable[[int], AbstractContextManager[WakeUp]]


@pytest.fixture
def state(request: pytest.FixtureRequest, tmp_path: Path) -> State:
    """Make an empty state folder, over an object store where the test asks for one."""
    return State(tmp_path / "state", store_url(request) if hasattr(request, "param") else None)


@pytest.fixture
def ledger(state: State) -> Iterator[Ledger]:
    """Open its book."""
    book = Ledger(state.ledger_url)
    yield book
    book.close()


@pytest.fixture(params=["embedded", "celery"])
def service(request: pytest.FixtureRequest, state: State, ledger: Ledger, tmp_path: Path) -> Iterator[Service]:
    """Offer a service with a number of workers, of either kind."""
    if request.param == "embedded":
        yield lambda workers: _embedded(state, ledger, workers)
        return
    if not Redis.installed():
        pytest.skip("no redis-server on this machine")
    redis = Redis(tmp_path)
    redis.start()
    try:
        yield lambda workers: _celery(state, workers, redis.url)
    finally:
        redis.kill()


@contextmanager
def _embedded(state: State, ledger: Ledger, workers: int) -> Iterator[WakeUp]:
    with Sandbox(CALL) as sandbox:
        queue = EmbeddedQueue(runner(ledger, state, sandbox), workers)
        queue.start()
        try:
            yield queue
        finally:
            queue.stop()


@contextmanager
def _celery(state: State, workers: int, broker: str) -> Iterator[WakeUp]:
    with Workers(state.folder, 1, workers, broker, store=state.store):
        yield CeleryQueue(celery_app(broker))


def ended(ledger: Ledger, *entries: Entry) -> list[Entry]:
    """Wait for jobs to end and return how they stand."""

    def now() -> list[Entry]:
        return [found for each in entries if (found := ledger.get(each.id))]

    wait_until("all ended", lambda: all(each.state not in {"waiting", "running"} for each in now()))
    return now()


def document(state: State, entry: Entry) -> dict[str, Any]:
    """Return the document of a job."""
    assert entry.folder is not None
    return read_document(state.storage.fetch(state.result(entry.folder) / DOCUMENT))


@over_both_stores
def test_every_job_has_its_outcome(service: Service, state: State, ledger: Ledger) -> None:
    """Good models are done; one that crashes or hangs is set aside with its reason after a bounded number of tries."""
    with service(3) as queue:
        fine = [submit(ledger, state, f"fine {number}") for number in range(20)]
        bad = [submit(ledger, state, "crash 1"), submit(ledger, state, "hang 1")]
        queue.wake(22)
        assert {(each.state, each.status, each.tries) for each in ended(ledger, *fine)} == {("done", "complete", 0)}
        crashed, hung = ended(ledger, *bad)
    assert [(each.state, each.tries) for each in (crashed, hung)] == [("set_aside", TRIES)] * 2
    assert "SIGSEGV" in str(crashed.problem)
    assert "time limit" in str(hung.problem)
    assert document(state, crashed)["status"] == "unreadable"
    assert len({document(state, each)["digest"] for each in ended(ledger, *fine)}) == 20


def test_jobs_that_came_before_the_workers_are_done(service: Service, state: State, ledger: Ledger) -> None:
    """A job needs no wake-up to be found."""
    jobs = [submit(ledger, state, f"fine {number}") for number in range(5)]
    with service(2):
        assert {each.state for each in ended(ledger, *jobs)} == {"done"}


def test_a_running_job_can_be_cancelled(service: Service, state: State, ledger: Ledger) -> None:
    """Its child is killed, its worker takes the next job."""
    with service(1) as queue:
        hanging = submit(ledger, state, "hang 1")
        queue.wake(1)
        wait_until("begun", lambda: (ledger.get(hanging.id) or hanging).state == "running")
        assert ledger.cancel(hanging.id)
        after = submit(ledger, state, "fine 1")
        queue.wake(1)
        assert ended(ledger, hanging, after)[0].state == "cancelled"
        assert ended(ledger, after)[0].state == "done"


def test_a_worker_told_to_stop_gives_its_job_back(service: Service, state: State, ledger: Ledger) -> None:
    """The job waits for the next worker, and nobody is blamed for it."""
    with service(1) as queue:
        hanging = submit(ledger, state, "hang 1")
        queue.wake(1)
        wait_until("begun", lambda: (ledger.get(hanging.id) or hanging).state == "running")
    left = ledger.get(hanging.id)
    assert left is not None
    assert (left.state, left.owner, left.tries, left.deaths) == ("waiting", None, 0, 0)


def test_a_dead_workers_job_is_done_by_another(state: State, ledger: Ledger) -> None:
    """Killed with a job in its hands, a worker is found to be dead by its silence, and another takes the job up."""
    job = submit(ledger, state, "hang 1")
    with Workers(state.folder, 1, 1, None) as workers:
        wait_until("begun", lambda: (ledger.get(job.id) or job).state == "running")
        workers.processes[0].kill()
        workers.processes[0].wait()
        workers.see_to_it()
        (ending,) = ended(ledger, job)
    assert (ending.state, ending.deaths) == ("set_aside", 1)


@over_both_stores
def test_a_model_whose_workers_always_die_is_given_up(state: State, ledger: Ledger) -> None:
    """After a bounded number of deaths its job is set aside with a report that says so, without running again."""
    job = submit(ledger, state, "hang 1")
    for _ in range(DEATHS):
        entry = ledger.claim("a worker that dies")
        assert entry is not None
        assert ledger.release(entry)
    with Sandbox(CALL) as sandbox:
        assert runner(ledger, state, sandbox).work_one()
    (given_up,) = ended(ledger, job)
    assert given_up.state == "set_aside"
    assert f"died {DEATHS} times" in str(given_up.problem)
    assert document(state, given_up)["problems"][0]["message"] == given_up.problem


def test_lost_wake_ups_are_made_good(state: State, ledger: Ledger, tmp_path: Path) -> None:
    """A broker that loses all it holds, again and again, loses no job."""
    if not Redis.installed():
        pytest.skip("no redis-server on this machine")
    redis = Redis(tmp_path)
    redis.start()
    jobs = [submit(ledger, state, f"slow {number}") for number in range(12)]
    with Workers(state.folder, 1, 2, redis.url) as workers:
        CeleryQueue(celery_app(redis.url)).wake(12)
        for _ in range(3):
            threading.Event().wait(0.7)
            redis.kill()
            redis.start()
            workers.see_to_it()
        assert {each.state for each in ended(ledger, *jobs)} == {"done"}
    redis.kill()


@over_both_stores
def test_a_full_disk_is_no_models_fault(state: State, ledger: Ledger, monkeypatch: pytest.MonkeyPatch) -> None:
    """While it is all but full no job is begun; one that meets a full disk is given back, and blamed for nothing."""
    job = submit(ledger, state, "fine 1")
    with Sandbox(CALL) as sandbox:
        worker = runner(ledger, state, sandbox)
        with monkeypatch.context() as patch:
            patch.setattr("worker.runner.ROOM_BYTES", 1 << 62)
            assert not worker.work_one()
        with monkeypatch.context() as patch:
            patch.setattr("worker.runner.run_job", _full)
            assert not worker.work_one()
        waiting = ledger.get(job.id)
        assert waiting is not None
        assert (waiting.state, waiting.tries, waiting.deaths) == ("waiting", 0, 0)
        assert worker.work_one()
    assert ended(ledger, job)[0].state == "done"


def _full(*_: object) -> None:
    raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))


def test_a_job_that_its_own_worker_lost_is_taken_up_again(state: State, ledger: Ledger) -> None:
    """Where writing down its end failed for good, the worker's own watch finds that nobody has it in hand."""
    job = submit(ledger, state, "fine 1")
    with Sandbox(CALL) as sandbox:
        worker = runner(ledger, state, sandbox)
        assert ledger.claim(worker.name) is not None

        def waits_again() -> bool:
            worker.pulse()
            return (ledger.get(job.id) or job).state == "waiting"

        wait_until("it waits again", waits_again)
        assert worker.work_one()
    assert ended(ledger, job)[0].state == "done"
