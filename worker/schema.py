"""The ledger's tables come to be, and those of an older version become today's; nothing that stands in them is lost.

The version is one number in the database. Each step upwards is a function in `_STEPS`; steps that have been released
are never changed. All of it happens in one transaction, with every other process kept out.
"""

from collections.abc import Callable
from typing import Final

from sqlalchemy import Column, Connection, Integer, MetaData, Table, insert, inspect, select, text, update
from sqlalchemy.schema import CreateIndex, DropIndex

from worker.ledger_tables import JOBS, META, SHAPES

VERSIONS: Final = Table("schema_version", MetaData(), Column("version", Integer, nullable=False))


class LedgerTooNew(Exception):
    """The database was written by a later version of the program: says which version was found and expected."""


def bring_up_to_date(connection: Connection) -> None:
    """Make what is missing and upgrade what is old.

    Raises
    ------
    LedgerTooNew : a later version has been here; going on could lose what it wrote
    """
    found = _version(connection)
    if found > VERSION:
        raise LedgerTooNew(f"the database has tables of version {found}; expected at most {VERSION}: upgrade partsieve")
    if found == VERSION:
        return
    if found == 0:
        META.create_all(connection)
    for step in _STEPS[max(found - 1, 0) :] if found else ():
        step(connection)
    _note(connection, VERSION)


def _version(connection: Connection) -> int:
    """Return the version found; 0 = an empty database; 1 = tables from before there was a number."""
    tables = inspect(connection).get_table_names()
    if VERSIONS.name in tables:
        return int(connection.execute(select(VERSIONS.c.version)).scalar_one())
    return 1 if "jobs" in tables else 0


def _note(connection: Connection, version: int) -> None:
    VERSIONS.create(connection, checkfirst=True)
    if connection.execute(update(VERSIONS).values(version=version)).rowcount == 0:
        connection.execute(insert(VERSIONS).values(version=version))


def _from_before_versions(connection: Connection) -> None:
    """Add the tables, columns and indexes that came one by one before there was a number; fill in what they repeat."""
    META.create_all(connection)
    known = inspect(connection)
    for table in META.sorted_tables:
        _add_columns(connection, table)
        indexes = {each["name"] for each in known.get_indexes(table.name)}
        for index in table.indexes:
            if index.name in indexes:
                index.drop(connection)  # its columns may have been others
            connection.execute(CreateIndex(index))


def _add_columns(connection: Connection, table: Table) -> None:
    """Add the columns that a table of the database lacks."""
    there = {each["name"] for each in inspect(connection).get_columns(table.name)}
    quote = connection.dialect.identifier_preparer.quote
    for column in table.columns:
        if column.name not in there:
            kind = column.type.compile(connection.dialect)
            default = "" if column.nullable else " NOT NULL DEFAULT " + _DEFAULTS[kind]
            connection.execute(text(f"ALTER TABLE {quote(table.name)} ADD COLUMN {quote(column.name)} {kind}{default}"))


def _with_shapes(connection: Connection) -> None:
    """Add the shapes of what was seen; models from before are entered when they are judged again."""
    SHAPES.create(connection, checkfirst=True)


def _in_the_lists_order(connection: Connection) -> None:
    """Have the list's first page read from an index: jobs without a difficulty come last, and the index knows."""
    index = next(each for each in JOBS.indexes if each.name == "jobs_by_difficulty")
    connection.execute(DropIndex(index, if_exists=True))
    connection.execute(CreateIndex(index))


def _with_repair(connection: Connection) -> None:
    """Note of each job whether its model may be repaired; those from before ask for none."""
    _add_columns(connection, JOBS)


_DEFAULTS: Final = {"INTEGER": "0", "BOOLEAN": "false", "VARCHAR": "''"}
_STEPS: Final[tuple[Callable[[Connection], None], ...]] = (
    _from_before_versions,  # from 1 to 2
    _with_shapes,
    _in_the_lists_order,
    _with_repair,
)
VERSION: Final = len(_STEPS) + 1
