"""The tables of the ledger."""

from typing import Any, Final

from sqlalchemy import (
    JSON,
    Boolean,
    Column,
    ColumnElement,
    Float,
    FromClause,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    String,
    Table,
    UniqueConstraint,
    text,
)

META: Final = MetaData()

JOBS: Final = Table(
    "jobs",
    META,
    Column("number", Integer, primary_key=True, autoincrement=True),
    Column("id", String(32), nullable=False, unique=True),
    Column("file_name", String, nullable=False),
    Column("file_digest", String(64), nullable=False, index=True),
    Column("size_bytes", Integer, nullable=False),
    Column("member", String),
    Column("shop", String(64)),
    Column("policy", String(64)),
    Column("material", String),
    Column("quantity", Integer, nullable=False),
    Column("repair", Boolean, nullable=False, default=False),
    Column("material_used", String, index=True),
    Column("settings_digest", String(64), nullable=False),
    Column("result_key", String(64), nullable=False, index=True),
    Column("priority", Integer, nullable=False),
    Column("due", String(10)),
    Column("customer", String),
    Column("source", String, nullable=False),
    Column("idempotency_key", String, unique=True),
    Column("state", String(10), nullable=False),
    Column("stage", String, nullable=False, default=""),
    Column("tries", Integer, nullable=False, default=0),
    Column("deaths", Integer, nullable=False, default=0),
    Column("owner", String),
    Column("fence", Integer, nullable=False, default=0),
    Column("beat", Integer, nullable=False, default=0),
    Column("folder", String),
    Column("status", String),
    Column("problem", String),
    Column("seconds", Float),
    Column("summary", JSON),
    Column("bucket", String),
    Column("difficulty", Float),
    Column("minutes", Float),
    Column("setups", Integer),
    Column("questions", Integer),
    Column("min_internal_radius_mm", Float),
    Column("touched", Integer, nullable=False, index=True),
    Column("delivered", Boolean, nullable=False, default=False),
    Column("submitted_at", String, nullable=False),
    Column("started_at", String),
    Column("ended_at", String),
)


def in_turn(jobs: FromClause) -> tuple[ColumnElement[Any], ...]:
    """Return the order in which jobs are done: by priority, of equal ones the earlier due, of those the first."""
    return (jobs.c.priority.desc(), jobs.c.due.is_(None), jobs.c.due, jobs.c.number)


Index("jobs_in_turn", JOBS.c.state, *in_turn(JOBS))
Index("jobs_by_difficulty", JOBS.c.difficulty.is_(None), JOBS.c.difficulty, JOBS.c.number)
Index("jobs_to_deliver", JOBS.c.source, JOBS.c.delivered, JOBS.c.number)
Index(
    "one_run_for_each_result",
    JOBS.c.result_key,
    unique=True,
    sqlite_where=text("state = 'running'"),
    postgresql_where=text("state = 'running'"),
)

SETTINGS_FILES: Final = Table(
    "settings_files",
    META,
    Column("kind", String(6), primary_key=True),
    Column("name", String(64), primary_key=True),
    Column("digest", String(64), nullable=False),
    Column("changed_at", String, nullable=False),
)

TOKENS: Final = Table(
    "tokens",
    META,
    Column("hash", String(64), primary_key=True),
    Column("name", String, nullable=False, unique=True),
    Column("scopes", String, nullable=False),
    Column("made_at", String, nullable=False),
)

HOOKS: Final = Table(
    "hooks",
    META,
    Column("id", String(32), primary_key=True),
    Column("url", String, nullable=False),
    Column("secret", String, nullable=False),
    Column("told", Integer, nullable=False),
    Column("made_at", String, nullable=False),
)

NOTICES: Final = Table(
    "notices",
    META,
    Column("number", Integer, primary_key=True, autoincrement=True),
    Column("hook", String(32), nullable=False, index=True),
    Column("job", String(32), nullable=False),
    Column("body", JSON, nullable=False),
    Column("tries", Integer, nullable=False, default=0),
    Column("trouble", String),
)

RESULTS: Final = Table(
    "results",
    META,
    Column("key", String(64), primary_key=True),
    Column("folder", String, nullable=False),
    Column("status", String, nullable=False),
    Column("problem", String),
    Column("seconds", Float, nullable=False),
    Column("summary", JSON, nullable=False),
    Column("made_at", String, nullable=False),
)

SHAPES: Final = Table(
    "shapes",
    META,
    Column("number", Integer, primary_key=True, autoincrement=True),
    Column("file_digest", String(64), nullable=False),
    Column("member", String, nullable=False),  # of an archive; "" = the file itself
    Column("body", String, nullable=False),
    Column("vector", LargeBinary, nullable=False),  # the signature's numbers and hand, little-endian doubles
    UniqueConstraint("file_digest", "member", "body", name="one_shape_for_each_body"),
)
