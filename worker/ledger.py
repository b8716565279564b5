"""The book of jobs: who waits, who works, what came out. The truth of the service; the queue only wakes workers.

SQLite by default, any database of SQLAlchemy by URL. No decision rests on a wall clock: a worker that has stopped
beating is found by its count of beats, compared by the watcher's own steady clock (`worker.pulse`). Every change by a
worker is fenced: it counts only while the job is still in its hands.
"""

import datetime
import secrets
import sqlite3
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import asdict, dataclass, fields
from typing import Any, Final, Literal, Self

from sqlalchemy import (
    Connection,
    RowMapping,
    Select,
    Update,
    create_engine,
    delete,
    event,
    func,
    select,
    update,
)
from sqlalchemy.exc import IntegrityError
from tenacity import Retrying, retry_if_exception_type, stop_after_delay, wait_random

from worker import ledger_statements as statements
from worker.ledger_statements import TOUCH
from worker.ledger_tables import JOBS, RESULTS, SETTINGS_FILES, SHAPES
from worker.schema import bring_up_to_date

State = Literal["waiting", "running", "done", "set_aside", "cancelled"]

TRIES: Final = 2
"""How often a model may kill its child. The second time is no accident."""

DEATHS: Final = 10
"""How often a worker may die with a model in its hands, or its child be killed from outside. Mostly that is not its
fault: where four of ten runs are struck down, 5 such ends set one good model in a hundred aside, 10 one in ten
thousand (0.4 to that power)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Request:
    """What somebody wants to know about one model."""

    file_name: str
    file_digest: str  # sha256 of the file, under which the store has it
    size_bytes: int
    member: str | None = None  # of an archive
    shop: str | None = None  # sha256 of the shop file in the store; None = the built-in one
    policy: str | None = None
    material: str | None = None  # as asked for; None = the shop's own
    material_used: str | None = None  # the name of what it is judged in
    quantity: int = 1
    repair: bool = False
    settings_digest: str
    result_key: str
    priority: int = 0  # higher goes first
    due: str | None = None  # YYYY-MM-DD; of equal priority, earlier goes first
    customer: str | None = None  # the customer's own reference
    source: str = "http"
    idempotency_key: str | None = None  # a second request with the same key is the same job


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry(Request):
    """One job as it stands in the book."""

    number: int  # in the order of arrival
    id: str
    state: State
    stage: str
    tries: int  # how often the model has killed its child
    deaths: int  # how often a worker has died with it, or its child was killed from outside
    owner: str | None
    fence: int
    beat: int
    folder: str | None  # of the result in the state folder
    status: str | None
    problem: str | None
    seconds: float | None
    summary: dict[str, Any] | None
    bucket: str | None  # this and the next five: from the summary, to sort and filter by
    difficulty: float | None
    minutes: float | None
    setups: int | None
    questions: int | None
    min_internal_radius_mm: float | None
    touched: int  # grows with every change of any job; several changed at once share one
    delivered: bool  # the result lies where the model's sender looks for it (drop folder)
    submitted_at: str
    started_at: str | None
    ended_at: str | None

    @classmethod
    def of(cls, row: RowMapping) -> Self:
        """Return a row as an entry."""
        return cls(**{name: row[name] for name in _NAMES})


_NAMES: Final = tuple(each.name for each in fields(Entry))


@dataclass(frozen=True, slots=True, kw_only=True)
class Result:
    """What came out for one result key; its documents lie in the state folder."""

    folder: str
    status: str
    problem: str | None
    seconds: float
    summary: dict[str, Any]


@dataclass(frozen=True, slots=True, kw_only=True)
class Left:
    """What is left of a job that was struck."""

    file: bool  # somebody else still has its file
    folder: str | None  # its result, if nobody else has it


_NO_SHAPES: Final[Mapping[str, bytes]] = {}


class Ledger:
    """The book, for any number of threads and processes at once."""

    def __init__(self, url: str) -> None:
        url = with_driver(url)
        self._postgres = url.startswith("postgresql")
        self._engine = create_engine(url, pool_pre_ping=True, connect_args=_IMPATIENT if self._postgres else {})
        if self._engine.dialect.name == "sqlite":
            event.listen(self._engine, "connect", _set_up_sqlite)
            event.listen(self._engine, "begin", _begin)
        try:
            with self.change() as connection:
                bring_up_to_date(connection)
        except BaseException:
            self.close()
            raise

    def close(self) -> None:
        """Let go of the database."""
        self._engine.dispose()

    @contextmanager
    def change(self) -> Iterator[Connection]:
        """Open a transaction that writes; there is one at a time, so that changes become visible in their order."""
        with self._engine.begin() as connection:
            if self._postgres:
                connection.execute(select(func.pg_advisory_xact_lock(_WRITER)))
            yield connection

    @contextmanager
    def look(self) -> Iterator[Connection]:
        """Open a transaction that only reads."""
        with self._engine.connect() as connection:
            yield connection.execution_options(looks_only=True)

    @contextmanager
    def apart(self) -> Iterator[None]:
        """Keep other machines from adding to or removing from what is kept; within one, the state folder's lock does.

        A file in the folder serves those who share it; where files lie in an object store, only the database is shared.
        """
        if not self._postgres:
            yield
            return
        with self._engine.connect() as connection:
            connection.execute(select(func.pg_advisory_lock(_KEEPER)))
            try:
                yield
            finally:
                connection.execute(select(func.pg_advisory_unlock(_KEEPER)))

    # --- what clients do ---------------------------------------------------------------------------------------

    def submit(self, request: Request) -> Entry:
        """Enter a job; one whose result is known already is done at once.

        A request whose idempotency key is in the book returns the job that is there.
        """
        values: dict[str, Any] = {**asdict(request), "id": secrets.token_hex(16), "submitted_at": now()}
        try:
            with self.change() as connection:
                known = connection.execute(statements.KNOWN, {"wanted": request.result_key}).mappings().first()
                values |= _done(dict(known)) if known else {"state": "waiting"}
                return Entry.of(connection.execute(statements.ENTER, values).mappings().one())
        except IntegrityError:
            with self.look() as connection:
                same = select(JOBS).where(JOBS.c.idempotency_key == request.idempotency_key)
                return Entry.of(connection.execute(same).mappings().one())

    def get(self, job_id: str) -> Entry | None:
        """Return a job; None where there is none of that id."""
        with self.look() as connection:
            row = connection.execute(statements.BY_ID, {"wanted": job_id}).mappings().first()
            return Entry.of(row) if row else None

    def select(self, query: Select[Any]) -> list[Entry]:
        """Return the jobs of a query over `JOBS`."""
        with self.look() as connection:
            return [Entry.of(row) for row in connection.execute(query).mappings()]

    def cancel(self, job_id: str) -> bool:
        """Take a job out of the queue, or out of its worker's hands; False where it has ended or does not exist."""
        with self.change() as connection:
            done = connection.execute(
                update(JOBS)
                .where(JOBS.c.id == job_id, JOBS.c.state.in_(("waiting", "running")))
                .values(**TOUCH, state="cancelled", owner=None, fence=JOBS.c.fence + 1, ended_at=now())
            )
            return done.rowcount == 1

    def left_by(self, entry: Entry) -> Left:
        """Return what would be left of a job if it were struck."""
        digest, others = entry.file_digest, JOBS.c.number != entry.number
        file_users = (JOBS.c.file_digest == digest) | (JOBS.c.shop == digest) | (JOBS.c.policy == digest)
        with self.look() as connection:
            folder = connection.execute(select(JOBS.c.folder).where(JOBS.c.number == entry.number)).scalar()
            if connection.execute(select(JOBS.c.id).where(others, JOBS.c.folder == folder)).first():
                folder = None
            used = connection.execute(select(JOBS.c.id).where(others, file_users)).first()
            named = connection.execute(select(SETTINGS_FILES.c.name).where(SETTINGS_FILES.c.digest == digest)).first()
        return Left(file=used is not None or named is not None, folder=folder)

    def strike(self, entry: Entry) -> None:
        """Strike a job, and the result and shapes that nobody else has; keep `left_by` and this together by a lock."""
        left = self.left_by(entry)
        with self.change() as connection:
            connection.execute(delete(JOBS).where(JOBS.c.number == entry.number))
            connection.execute(delete(RESULTS).where(RESULTS.c.folder == left.folder))
            if not left.file:
                connection.execute(delete(SHAPES).where(SHAPES.c.file_digest == entry.file_digest))

    def deliver(self, entry: Entry) -> None:
        """Note that the result lies where its sender looks for it."""
        with self.change() as connection:
            connection.execute(update(JOBS).where(JOBS.c.number == entry.number).values(delivered=True))

    def counts(self) -> dict[str, int]:
        """Return how many jobs are in each state."""
        with self.look() as connection:
            return {str(state): int(number) for state, number in connection.execute(statements.COUNTS)}

    def waiting(self, most: int) -> int:
        """Return how many jobs wait, at most so many: found in the index, however long the book is."""
        with self.look() as connection:
            return len(connection.execute(statements.WAITING, {"most": most}).all())

    # --- what workers do ---------------------------------------------------------------------------------------

    def claim(self, owner: str) -> Entry | None:
        """Put the job whose turn it is into a worker's hands; None where there is none.

        Left out are jobs whose result is being made by another just now, and, while one job that has been in the hands
        of a dying worker runs, all others of that kind: so they are not blamed for one another.
        """
        if not self.waiting(1):  # those who look in vain keep nobody from writing
            return None
        try:
            with self.change() as connection:
                row = connection.execute(statements.CLAIM, {"owner": owner, "moment": now()}).mappings().first()
        except IntegrityError:  # another worker has begun the same result meanwhile
            return None
        return Entry.of(row) if row else None

    def beat(self, owner: str, jobs: Mapping[int, int]) -> set[int]:
        """Say that the jobs (number: fence) are being worked on; return those that no longer are this worker's."""
        with self.change() as connection:
            return {
                number
                for number, fence in jobs.items()
                if connection.execute(statements.BEAT, {"job": number, "held": fence, "by": owner}).rowcount == 0
            }

    def stage(self, entry: Entry, stage: str) -> None:
        """Note the stage a job has come to."""
        self._if_in_hand(statements.IN_HAND, entry, stage=stage)

    def finish(self, entry: Entry, result: Result, shapes: Mapping[str, bytes] = _NO_SHAPES) -> bool:
        """Enter the result of a job and of all that wait for the same; False where it is no longer this worker's.

        With it go the shapes of the model's bodies, by their ids; those that are there already stay.
        """
        values = {**asdict(result), "key": entry.result_key, "made_at": now()}
        done = _done(values)
        with self.change() as connection:
            if connection.execute(statements.IN_HAND, {**_in_hand(entry), **done}).rowcount == 0:
                return False
            if connection.execute(statements.KNOWN, {"wanted": entry.result_key}).first() is None:
                connection.execute(statements.KEEP, values)
            connection.execute(statements.ALIKE, {"same": entry.result_key, **done})
            own = {"digest": entry.file_digest, "within": entry.member or ""}
            if missing := shapes.keys() - set(connection.execute(statements.SHAPES_OF, own).scalars()):
                rows = [{**own, "id": body, "numbers": shapes[body]} for body in shapes if body in missing]
                connection.execute(statements.KEEP_SHAPE, rows)
            return True

    def try_again(self, entry: Entry) -> bool:
        """Let a job whose child died wait anew; False where it has had its tries, or is no longer this worker's."""
        return entry.tries + 1 < TRIES and self._if_in_hand(statements.WAIT_ANEW, entry, tries=entry.tries + 1)

    def interrupted(self, entry: Entry) -> bool:
        """Let a job wait anew whose child was killed from outside; False where that has happened too often."""
        return entry.deaths + 1 < DEATHS and self._if_in_hand(statements.RELEASE, entry)

    def give_back(self, entry: Entry) -> bool:
        """Let a job wait anew because its worker is told to stop; that is nobody's fault."""
        return self._if_in_hand(statements.GIVE_BACK, entry)

    def set_aside(self, entry: Entry, result: Result) -> bool:
        """Give a job up for good: it killed its child or its workers too often. Nobody else's job is touched."""
        values = {**_done(asdict(result)), "state": "set_aside", "tries": entry.tries + 1}
        return self._if_in_hand(statements.IN_HAND, entry, **values)

    def _if_in_hand(self, change: Update, entry: Entry, **values: Any) -> bool:
        """Change a job; False where it is no longer in the hands that took it when `entry` was read."""
        with self.change() as connection:
            return connection.execute(change, {**_in_hand(entry), **values}).rowcount == 1

    # --- what watchers do --------------------------------------------------------------------------------------

    def running(self) -> Sequence[Entry]:
        """Return the jobs in workers' hands."""
        return self.select(statements.RUNNING)

    def release(self, entry: Entry) -> bool:
        """Take a job from a worker that has not beaten since `entry` was read, and let it wait anew."""
        return self._if_in_hand(statements.RELEASE_SILENT, entry, seen=entry.beat)


_FROM_SUMMARY: Final = ("bucket", "difficulty", "minutes", "setups", "questions", "min_internal_radius_mm")
_SERVER_IMPATIENT: Final = {
    "idle_in_transaction_session_timeout": 30_000,  # ms: one that is cut off while it holds the writers' lock lets go
    "tcp_keepalives_idle": 5,
    "tcp_keepalives_interval": 2,
    "tcp_keepalives_count": 3,
    "tcp_user_timeout": 10_000,
}
_IMPATIENT: Final = {
    "connect_timeout": 5,
    "keepalives_idle": 5,
    "keepalives_interval": 2,
    "keepalives_count": 3,
    "tcp_user_timeout": 10_000,
    "options": " ".join(f"-c {name}={value}" for name, value in _SERVER_IMPATIENT.items()),
}
"""Either side of a line that is cut finds out within seconds, and not when the kernel gives up a quarter of an hour on
(options of libpq and of PostgreSQL)."""

_WRITER: Final = 0x70617274  # numbers of this project's own locks in PostgreSQL
_KEEPER: Final = 0x73696576


def now() -> str:
    """Return the time for people to read, UTC; nothing is decided by it."""
    return datetime.datetime.now(datetime.UTC).isoformat(timespec="milliseconds")


def with_driver(url: str) -> str:
    """Name the driver that the extra `postgresql` brings where a URL names none."""
    scheme, colon, rest = url.partition(":")
    return f"postgresql+psycopg{colon}{rest}" if scheme in {"postgres", "postgresql"} else url


def _in_hand(entry: Entry) -> dict[str, int]:
    """Return the parameters for the condition that a job is in the hands that took it when `entry` was read."""
    return {"job": entry.number, "held": entry.fence}


def _done(result: Mapping[str, Any]) -> dict[str, Any]:
    """Return the columns of a job that is done."""
    told = {name: result[name] for name in ("folder", "status", "problem", "seconds", "summary")}
    sorted_by = {name: result["summary"].get(name) for name in _FROM_SUMMARY}
    return {**told, **sorted_by, "state": "done", "stage": "", "owner": None, "ended_at": now()}


_WHILE_LOCKED: Final = Retrying(
    retry=retry_if_exception_type(sqlite3.OperationalError),
    wait=wait_random(0.01, 0.1),
    stop=stop_after_delay(30.0),
    reraise=True,
)


def _set_up_sqlite(connection: Any, _: object) -> None:
    """Let readers and one writer work side by side, wait for the writer, and lose nothing that was said to be done."""
    connection.isolation_level = None  # transactions are begun below
    connection.execute("PRAGMA busy_timeout=30000")
    for attempt in _WHILE_LOCKED:  # SQLite itself does not wait when the kind of the journal changes
        with attempt:
            connection.execute("PRAGMA journal_mode=WAL")
    connection.execute("PRAGMA synchronous=FULL")


def _begin(connection: Connection) -> None:
    """Begin a change as a writer: a reader that becomes a writer on the way could be refused."""
    looks_only = connection.get_execution_options().get("looks_only", False)
    connection.exec_driver_sql("BEGIN" if looks_only else "BEGIN IMMEDIATE")
