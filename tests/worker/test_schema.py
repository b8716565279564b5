"""A database of an older version is upgraded with all that stands in it; one of a later version is left alone."""

from concurrent.futures import ThreadPoolExecutor

import pytest
from sqlalchemy import create_engine, inspect, text

from worker.ledger import Ledger, with_driver
from worker.ledger_tables import META
from worker.schema import VERSION, LedgerTooNew

OLD = """
CREATE TABLE jobs (
  number INTEGER PRIMARY KEY, id VARCHAR(32) NOT NULL UNIQUE, file_name VARCHAR NOT NULL,
  file_digest VARCHAR(64) NOT NULL,
  size_bytes INTEGER NOT NULL, member VARCHAR, shop VARCHAR(64), policy VARCHAR(64), material VARCHAR,
  quantity INTEGER NOT NULL, settings_digest VARCHAR(64) NOT NULL, result_key VARCHAR(64) NOT NULL,
  priority INTEGER NOT NULL, due VARCHAR(10), customer VARCHAR, source VARCHAR NOT NULL, idempotency_key VARCHAR UNIQUE,
  state VARCHAR(10) NOT NULL, stage VARCHAR NOT NULL, tries INTEGER NOT NULL, deaths INTEGER NOT NULL, owner VARCHAR,
  fence INTEGER NOT NULL, beat INTEGER NOT NULL, folder VARCHAR, status VARCHAR, problem VARCHAR, seconds FLOAT,
  summary JSON, submitted_at VARCHAR NOT NULL, started_at VARCHAR, ended_at VARCHAR);
CREATE INDEX jobs_in_turn ON jobs (state, priority DESC, due, number);
INSERT INTO jobs VALUES (1, 'a', 'plate.step', 'd', 7, NULL, NULL, NULL, NULL, 3, 's', 'k', 0, NULL, 'order 7', 'http',
  NULL, 'waiting', '', 0, 0, NULL, 0, 0, NULL, NULL, NULL, NULL, NULL, '2026-11-25T08:00:00.000+00:00', NULL, NULL)
"""
"""The first ledger of this project, before its tables had a version."""

OLD_JOB = """
INSERT INTO jobs (id, file_name, file_digest, size_bytes, quantity, settings_digest, result_key, priority, source,
  state, stage, tries, deaths, fence, beat, touched, delivered, submitted_at)
VALUES ('a', 'plate.step', 'd', 7, 3, 's', 'k', 0, 'http', 'waiting', '', 0, 0, 0, 0, 0, false, '2026-11-25T08:00:00Z')
"""


def run(url: str, script: str) -> None:
    """Run statements as they stand."""
    engine = create_engine(with_driver(url))
    with engine.begin() as connection:
        for statement in script.split(";"):
            connection.execute(text(statement))
    engine.dispose()


def shape(url: str) -> dict[str, tuple[set[str], set[str | None]]]:
    """Return the columns and indexes of each table."""
    engine = create_engine(with_driver(url))
    known = inspect(engine)
    found = {
        table: (
            {each["name"] for each in known.get_columns(table)},
            {each["name"] for each in known.get_indexes(table)},
        )
        for table in META.tables
    }
    engine.dispose()
    return found


@pytest.mark.filterwarnings("ignore:Skipped unsupported reflection of expression-based index")
def test_an_old_ledger_becomes_todays(database: str) -> None:
    """Its jobs are there and can be worked on; a second opening changes nothing."""
    run(database, OLD)
    Ledger(database).close()
    before = shape(database)
    for table in META.sorted_tables:
        assert before[table.name][0] == {each.name for each in table.columns}
    ledger = Ledger(database)
    entry = ledger.claim("w")
    assert entry is not None
    assert (entry.file_name, entry.quantity, entry.customer, entry.delivered) == ("plate.step", 3, "order 7", False)
    ledger.close()
    assert shape(database) == before


@pytest.mark.filterwarnings("ignore:Skipped unsupported reflection of expression-based index")
def test_jobs_from_before_repairs_ask_for_none(database: str) -> None:
    """A ledger of the version before is upgraded, and what its jobs ask for stays as it was."""
    Ledger(database).close()
    today = shape(database)
    run(database, "ALTER TABLE jobs DROP COLUMN repair; UPDATE schema_version SET version = 4")
    run(database, OLD_JOB)
    ledger = Ledger(database)
    entry = ledger.claim("w")
    assert entry is not None
    assert (entry.file_name, entry.repair) == ("plate.step", False)
    ledger.close()
    assert shape(database) == today


def test_a_later_ledger_is_left_alone(database: str) -> None:
    """A program that does not know it says so and goes no further."""
    Ledger(database).close()
    run(database, "UPDATE schema_version SET version = version + 1")
    with pytest.raises(LedgerTooNew, match=f"version {VERSION + 1}; expected at most {VERSION}"):
        Ledger(database)


def test_many_may_open_an_empty_database_at_once(database: str) -> None:
    """One makes the tables, the others find them."""
    with ThreadPoolExecutor(8) as pool:
        ledgers = list(pool.map(lambda _: Ledger(database), range(8)))
    assert {each.counts() == {} for each in ledgers} == {True}
    for each in ledgers:
        each.close()
