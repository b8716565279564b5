"""Pages of the list of jobs: filtered, sorted, one after another without gaps or repeats while the list grows."""

import base64
import binascii
import json
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any, Final, Literal, cast, get_args

from sqlalchemy import ColumnElement, Select, and_, case, func, or_, select

from analyzers.model.triage import Bucket
from worker.ledger import Entry, Ledger, State
from worker.ledger_tables import JOBS

SortKey = Literal[
    "arrival",
    "file_name",
    "difficulty",
    "minutes",
    "due",
    "bucket",
    "setups",
    "questions",
    "min_internal_radius_mm",
    "material_used",
]
MOST: Final = 500

_RANK: Final = {bucket: 1000.0 * rank for rank, bucket in enumerate(get_args(Bucket))}
"""Buckets are sorted as they are named, easy to hard, and within each by difficulty, which is 100 at most."""


class BadCursor(Exception):
    """A cursor that this list has not given out for this order."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """Which jobs, in which order. None = any."""

    states: tuple[State, ...] = ()
    bucket: str | None = None
    material: str | None = None
    customer: str | None = None
    name_contains: str | None = None
    max_setups: int | None = None
    max_internal_radius_mm: float | None = None  # only those with an inside radius up to this
    due_until: str | None = None
    sort: SortKey = "arrival"
    falling: bool = False
    cursor: str | None = None
    limit: int = 50


@dataclass(frozen=True, slots=True)
class Page:
    """Some jobs, and where the next ones begin; None = these were the last."""

    jobs: list[Entry]
    next_cursor: str | None


def every(ledger: Ledger, wanted: Wanted) -> Iterator[Entry]:
    """Yield all jobs that are wanted, page after page."""
    found = page(ledger, replace(wanted, cursor=None, limit=MOST))
    yield from found.jobs
    while found.next_cursor is not None:
        found = page(ledger, replace(wanted, cursor=found.next_cursor, limit=MOST))
        yield from found.jobs


def materials(ledger: Ledger) -> list[str]:
    """Return the names of all materials that jobs are judged in."""
    with ledger.look() as connection:
        found = connection.execute(select(JOBS.c.material_used).distinct().order_by(JOBS.c.material_used)).scalars()
        return [each for each in found if each is not None]


def page(ledger: Ledger, wanted: Wanted) -> Page:
    """Return one page of the list. Jobs without a value for the sort key come last in either direction.

    Raises
    ------
    BadCursor : the cursor is none of this list's
    """
    limit = max(1, min(wanted.limit, MOST))
    query = select(JOBS).where(*_filters(wanted))
    if wanted.cursor is not None:
        query = query.where(_after(wanted, *_read_cursor(wanted)))
    found = ledger.select(_ordered(query, wanted).limit(limit + 1))
    more = len(found) > limit
    return Page(found[:limit], _cursor(wanted, found[limit - 1]) if more else None)


def _filters(wanted: Wanted) -> list[ColumnElement[bool]]:
    filters: list[ColumnElement[bool]] = []
    if wanted.states:
        filters.append(JOBS.c.state.in_(wanted.states))
    equal = {"bucket": wanted.bucket, "material_used": wanted.material, "customer": wanted.customer}
    filters += [JOBS.c[name] == value for name, value in equal.items() if value is not None]
    if wanted.name_contains:
        filters.append(JOBS.c.file_name.icontains(wanted.name_contains, autoescape=True))
    if wanted.max_setups is not None:
        filters.append(JOBS.c.setups <= wanted.max_setups)
    if wanted.max_internal_radius_mm is not None:
        filters.append(JOBS.c.min_internal_radius_mm <= wanted.max_internal_radius_mm)
    if wanted.due_until is not None:
        filters.append(JOBS.c.due <= wanted.due_until)
    return filters


def _column(sort: SortKey) -> ColumnElement[Any]:
    if sort == "bucket":
        return case(_RANK, value=JOBS.c.bucket) + func.coalesce(JOBS.c.difficulty, 0.0)
    return JOBS.c.number if sort == "arrival" else JOBS.c[sort]


def _value(job: Entry, sort: SortKey) -> Any:
    """Return what `_column` has for a job."""
    if sort == "bucket":
        rank = _RANK.get(job.bucket or "")
        return None if rank is None else rank + (job.difficulty or 0.0)
    return job.number if sort == "arrival" else getattr(job, sort)


def _ordered(query: Select[Any], wanted: Wanted) -> Select[Any]:
    column = _column(wanted.sort)
    tie = JOBS.c.number.desc() if wanted.falling else JOBS.c.number
    return query.order_by(column.is_(None), column.desc() if wanted.falling else column, tie)


def _after(wanted: Wanted, value: Any, number: int) -> ColumnElement[bool]:
    """Return the condition for what follows a place in the order."""
    column = _column(wanted.sort)
    behind = JOBS.c.number < number if wanted.falling else JOBS.c.number > number
    if value is None:
        return and_(column.is_(None), behind)
    further = column < value if wanted.falling else column > value
    return or_(further, and_(column == value, behind), column.is_(None))


def _cursor(wanted: Wanted, last: Entry) -> str:
    text = json.dumps([wanted.sort, wanted.falling, _value(last, wanted.sort), last.number])
    return base64.urlsafe_b64encode(text.encode()).decode("ascii")


def _read_cursor(wanted: Wanted) -> tuple[Any, int]:
    try:
        sort, falling, value, number = json.loads(base64.urlsafe_b64decode(wanted.cursor or ""))
    except (ValueError, TypeError, binascii.Error, RecursionError) as error:
        raise BadCursor("this is no cursor of the list") from error
    if (sort, falling) != (wanted.sort, wanted.falling):
        raise BadCursor("this cursor belongs to a list in another order")
    fits = value is None or isinstance(value, str | int | float)
    if not fits or not isinstance(number, int) or abs(number) > 1 << 60:
        raise BadCursor("this is no cursor of the list")
    return value, number


SORT_KEYS: Final = cast(tuple[SortKey, ...], get_args(SortKey))
