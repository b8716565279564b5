"""The book of jobs: nothing lost, nothing twice."""

import random
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import select

from worker.ledger import DEATHS, TRIES, Entry, Ledger, Request, Result
from worker.ledger_tables import JOBS

GOOD = Result(folder="f", status="complete", problem=None, seconds=0.5, summary={"bucket": "routine"})
BAD = Result(folder="f", status="partial", problem="crashed", seconds=0.1, summary={})


@pytest.fixture
def ledger(database: str) -> Iterator[Ledger]:
    """Open an empty book."""
    book = Ledger(database)
    yield book
    book.close()


def request(name: str = "a", **values: Any) -> Request:
    """Return a request whose result is its own, if not said otherwise."""
    given: dict[str, Any] = {"file_name": f"{name}.step", "file_digest": name, "size_bytes": 1, "settings_digest": "s"}
    return Request(**{**given, "result_key": name, **values})


def claimed(ledger: Ledger, owner: str = "w") -> Entry:
    """Claim a job that must be there."""
    entry = ledger.claim(owner)
    assert entry is not None
    return entry


def read(ledger: Ledger, entry: Entry) -> Entry:
    """Return how a job stands now."""
    found = ledger.get(entry.id)
    assert found is not None
    return found


def test_a_job_goes_its_way(ledger: Ledger) -> None:
    """Waiting, running with its stages, done with its result."""
    submitted = ledger.submit(request(customer="order 7", due="2027-01-31"))
    assert (submitted.state, submitted.customer, submitted.due) == ("waiting", "order 7", "2027-01-31")
    entry = claimed(ledger)
    assert (entry.id, entry.state, entry.owner) == (submitted.id, "running", "w")
    ledger.stage(entry, "measure")
    assert read(ledger, entry).stage == "measure"
    assert ledger.finish(entry, GOOD)
    done = read(ledger, entry)
    assert (done.state, done.status, done.summary, done.owner) == ("done", "complete", {"bucket": "routine"}, None)
    assert ledger.claim("w") is None
    assert ledger.counts() == {"done": 1}


def test_whose_turn_it_is(ledger: Ledger) -> None:
    """Priority first, then the due date, those without one last, then the order of arrival."""
    ledger.submit(request("late", due="2027-03-01"))
    ledger.submit(request("plain"))
    ledger.submit(request("soon", due="2027-02-01"))
    ledger.submit(request("plain too"))
    ledger.submit(request("urgent", priority=5))
    order = [claimed(ledger).file_digest for _ in range(5)]
    assert order == ["urgent", "soon", "late", "plain", "plain too"]


def test_waiting_jobs_are_counted_no_further_than_asked(ledger: Ledger) -> None:
    """None, some, as many as wanted; what is in hand does not wait."""
    assert ledger.waiting(1) == 0
    for name in "abc":
        ledger.submit(request(name))
    claimed(ledger)
    assert [ledger.waiting(most) for most in (1, 2, 3)] == [1, 2, 2]


def test_the_same_model_is_analysed_once(ledger: Ledger) -> None:
    """While one job makes a result, others of the same key wait, and are done with it; later ones are done at once."""
    first, second = ledger.submit(request()), ledger.submit(request(file_name="copy.step"))
    other = ledger.submit(request("b"))
    entry = claimed(ledger)
    assert entry.id == first.id
    assert claimed(ledger).id == other.id
    assert ledger.claim("w") is None
    assert ledger.finish(entry, GOOD)
    assert [read(ledger, each).status for each in (first, second)] == ["complete", "complete"]
    assert ledger.submit(request()).state == "done"


def test_an_idempotency_key_makes_two_requests_one_job(ledger: Ledger) -> None:
    """The second request gets the first one's job, whatever it says."""
    first = ledger.submit(request(idempotency_key="k"))
    assert ledger.submit(request("b", idempotency_key="k")).id == first.id
    assert ledger.submit(request("b", idempotency_key="k2")).id != first.id
    assert ledger.counts() == {"waiting": 2}


def test_a_worker_that_lost_its_job_changes_nothing(ledger: Ledger) -> None:
    """After a release, the old worker's result, retry and beat are refused; the new one's count."""
    ledger.submit(request())
    old = claimed(ledger, "old")
    assert ledger.release(old)
    new = claimed(ledger, "new")
    assert (new.number, new.deaths) == (old.number, 1)
    assert ledger.beat("old", {old.number: old.fence}) == {old.number}
    assert not ledger.finish(old, BAD)
    assert not ledger.try_again(old)
    assert not ledger.set_aside(old, BAD)
    assert ledger.finish(new, GOOD)
    assert read(ledger, old).status == "complete"


def test_a_beating_worker_keeps_its_job(ledger: Ledger) -> None:
    """A release that was decided on an older count of beats is refused."""
    ledger.submit(request())
    entry = claimed(ledger)
    (seen,) = ledger.running()
    assert ledger.beat("w", {entry.number: entry.fence}) == set()
    assert not ledger.release(seen)
    (seen,) = ledger.running()
    assert ledger.release(seen)


def test_a_model_that_kills_its_child_is_set_aside_in_the_end(ledger: Ledger) -> None:
    """It is tried a bounded number of times; then its job ends with the reason."""
    submitted = ledger.submit(request())
    for _ in range(TRIES - 1):
        assert ledger.try_again(claimed(ledger))
    entry = claimed(ledger)
    assert not ledger.try_again(entry)
    assert ledger.set_aside(entry, BAD)
    ended = read(ledger, submitted)
    assert (ended.state, ended.problem, ended.tries) == ("set_aside", "crashed", TRIES)
    assert ledger.claim("w") is None


def test_suspects_run_one_at_a_time(ledger: Ledger) -> None:
    """Two jobs that dying workers held never run together; others run beside either."""
    for name in ("a", "b", "c"):
        ledger.submit(request(name))
    for entry in (claimed(ledger), claimed(ledger)):
        assert ledger.release(entry)
    running = [claimed(ledger).file_digest, claimed(ledger).file_digest]
    assert sorted(running) == ["a", "c"]
    assert ledger.claim("w") is None
    suspect = next(each for each in ledger.running() if each.file_digest == "a")
    assert ledger.finish(suspect, GOOD)
    assert claimed(ledger).file_digest == "b"
    assert DEATHS > 1


@pytest.mark.parametrize("running", [False, True])
def test_cancel(ledger: Ledger, running: bool) -> None:
    """A cancelled job is out of the queue and out of its worker's hands; what has ended stays."""
    submitted = ledger.submit(request())
    entry = claimed(ledger) if running else None
    assert ledger.cancel(submitted.id)
    assert ledger.claim("w") is None
    if entry:
        assert ledger.beat("w", {entry.number: entry.fence}) == {entry.number}
        assert not ledger.finish(entry, GOOD)
    assert read(ledger, submitted).state == "cancelled"
    assert not ledger.cancel(submitted.id)
    assert not ledger.cancel("unknown")


def test_the_book_outlives_its_reader(database: str) -> None:
    """What was entered is there when the book is opened anew."""
    first = Ledger(database)
    submitted = first.submit(request())
    first.close()
    second = Ledger(database)
    assert second.get(submitted.id) == submitted
    second.close()


def test_many_hands_lose_nothing_and_do_nothing_twice(database: str) -> None:
    """Eight threads with books of their own, releases and retries at random: every job ends once, by one finish."""
    book = Ledger(database)
    ids = [book.submit(request(f"m{number % 90}")).id for number in range(120)]

    def work(seed: int) -> list[str]:
        own, chance, finished = Ledger(database), random.Random(seed), []
        while own.counts().keys() & {"waiting", "running"}:
            entry = own.claim(f"w{seed}")
            if entry is None:
                continue
            if chance.random() < 0.2:
                own.release(replace(entry))
            if chance.random() < 0.2 and own.try_again(entry):
                continue
            if own.finish(entry, GOOD):
                finished.append(entry.result_key)
        own.close()
        return finished

    with ThreadPoolExecutor(8) as pool:
        finished = [key for keys in pool.map(work, range(8)) for key in keys]
    assert sorted(finished) == sorted({f"m{number}" for number in range(90)})
    assert {each.id for each in book.select(select(JOBS).where(JOBS.c.state == "done"))} == set(ids)
    book.close()


def held(database: Path) -> int:
    """Return how many descriptors this process has on a database, its log and its index."""
    links = [each.readlink() for each in Path("/proc/self/fd").iterdir() if each.is_symlink()]
    return sum(str(each).startswith(str(database)) for each in links)


@pytest.mark.skipif(not Path("/proc/self/fd").exists(), reason="NO PROC: descriptors cannot be counted here")
def test_descriptors_are_bounded_by_those_who_ask_at_once(tmp_path: Path) -> None:
    """Two, file and log, for each thread that has ever asked while others did, and the index; they are used again.

    So a service has two more whenever so many have not met before. SQLite keeps them open while any connection is.
    """
    path, threads = tmp_path / "ledger.sqlite", 12
    ledger = Ledger(f"sqlite:///{path}")
    try:
        with ThreadPoolExecutor(threads) as pool:
            for _ in range(5):
                list(pool.map(lambda number: ledger.submit(request(str(number))), range(60)))
                list(pool.map(lambda _: ledger.counts(), range(200)))
                assert 0 < held(path) <= 2 * threads + 1
    finally:
        ledger.close()
    assert held(path) == 0
