"""Pages of the list: complete, without repeats, in order."""

import itertools
from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import pytest

from tests.worker.conftest import KINDS, empty_database
from tests.worker.test_ledger import request
from worker.ledger import Entry, Ledger, Result
from worker.listing import SORT_KEYS, BadCursor, SortKey, Wanted, page

BUCKETS = ("routine", "involved", "demanding")


@pytest.fixture(scope="module", params=KINDS)
def ledger(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Ledger]:
    """Fill a book with 23 jobs, 3 of which still wait; values repeat, and some are missing."""
    book = filled(empty_database(request, tmp_path_factory.mktemp("ledger")))
    yield book
    book.close()


def filled(database: str) -> Ledger:
    """Return such a book."""
    book = Ledger(database)
    for number in range(23):
        due = None if number % 3 else f"2027-01-{number + 1:02}"
        book.submit(request(f"part {number % 7} {number}", due=due, material_used="S235" if number % 2 else None))
    for number in range(20):
        entry = book.claim("w")
        assert entry is not None
        summary = {"bucket": BUCKETS[number % 3], "difficulty": float(number % 5), "setups": number % 4}
        if number % 6:
            summary["min_internal_radius_mm"] = number / 4
        book.finish(entry, Result(folder="f", status="complete", problem=None, seconds=1.0, summary=summary))
    return book


def walk(ledger: Ledger, wanted: Wanted) -> list[Entry]:
    """Return all pages joined."""
    jobs: list[Entry] = []
    cursor: str | None = None
    for _ in range(100):
        found = page(ledger, replace(wanted, cursor=cursor))
        assert len(found.jobs) <= wanted.limit
        jobs += found.jobs
        if (cursor := found.next_cursor) is None:
            return jobs
    raise AssertionError("the list has no end")


def value_of(job: Entry, sort: SortKey) -> object:
    """Return what a list in that order goes by."""
    if sort == "bucket" and job.bucket is not None:
        return BUCKETS.index(job.bucket), job.difficulty
    return job.number if sort == "arrival" else getattr(job, sort)


@pytest.mark.parametrize(
    ("sort", "falling", "limit"), list(itertools.product(SORT_KEYS, (False, True), (1, 4, 23, 50)))
)
def test_pages_are_the_whole_list_in_order(ledger: Ledger, sort: SortKey, falling: bool, limit: int) -> None:
    """Every job once; sorted by the key, jobs without one last."""
    jobs = walk(ledger, Wanted(sort=sort, falling=falling, limit=limit))
    assert sorted(each.number for each in jobs) == list(range(1, 24))
    values = [value_of(each, sort) for each in jobs]
    there: list[Any] = [each for each in values if each is not None]
    assert there == sorted(there, reverse=falling)
    assert values == there + [None] * (23 - len(there))


def test_a_growing_list_repeats_nothing(database: str) -> None:
    """Jobs that come while somebody turns pages are neither a reason to repeat nor to skip others."""
    book = filled(database)
    first = page(book, Wanted(limit=10))
    book.submit(request("late"))
    second = page(book, Wanted(limit=50, cursor=first.next_cursor))
    assert [each.number for each in first.jobs + second.jobs] == list(range(1, 25))
    book.close()


@pytest.mark.parametrize(
    ("wanted", "number"),
    [
        (Wanted(states=("waiting",)), 3),
        (Wanted(states=("waiting", "done")), 23),
        (Wanted(bucket="routine"), 7),
        (Wanted(material="S235"), 11),
        (Wanted(name_contains="PART 3"), 3),
        (Wanted(name_contains="%"), 0),
        (Wanted(name_contains="_"), 0),
        (Wanted(max_setups=0), 5),
        (Wanted(max_internal_radius_mm=1.0), 4),
        (Wanted(due_until="2027-01-04"), 2),
        (Wanted(customer="nobody"), 0),
    ],
)
def test_filters(ledger: Ledger, wanted: Wanted, number: int) -> None:
    """Each keeps what it says; signs that databases know mean themselves."""
    assert len(page(ledger, wanted).jobs) == number


@pytest.mark.parametrize(
    "cursor", ["", "x", "é", "W10=", "bnVsbA==", "WyJhcnJpdmFsIixmYWxzZSwxXQ==", "e30=", "WzEsMiwzLDRd"]
)
def test_a_made_up_cursor_is_refused(ledger: Ledger, cursor: str) -> None:
    """So is one of another order."""
    with pytest.raises(BadCursor):
        page(ledger, Wanted(cursor=cursor))
    given = page(ledger, Wanted(limit=1)).next_cursor
    with pytest.raises(BadCursor, match="another order"):
        page(ledger, Wanted(limit=1, cursor=given, falling=True))
