"""Promises of every table: it is read whole, each row says where it comes from, and each source is known."""

import csv
import importlib
import pkgutil
from dataclasses import fields
from importlib.resources import files

import pytest

import analyzers.data
from analyzers.data.rows import Row, cite, keys, remarks, rows, sources


def _tables() -> list[type[Row]]:
    """Return the dataclass of every table, found by module."""
    found: dict[str, type[Row]] = {}
    for module in pkgutil.iter_modules(analyzers.data.__path__):
        for each in vars(importlib.import_module(f"analyzers.data.{module.name}")).values():
            if isinstance(each, type) and issubclass(each, Row) and each is not Row:
                found[each.table] = each
    return [found[name] for name in sorted(found)]


TABLES = _tables()
every_table = pytest.mark.parametrize("table", TABLES, ids=lambda table: table.table)


def test_each_file_has_its_dataclass() -> None:
    """No CSV lies there unread, no dataclass lacks its CSV."""
    folder = files("analyzers.data").joinpath("tables")
    named = {each.name.removesuffix(".csv") for each in folder.iterdir()}
    assert named == {table.table for table in TABLES} | {"sources"}
    assert len(TABLES) >= 35


@every_table
def test_columns_are_the_fields(table: type[Row]) -> None:
    """Nothing in the file is dropped on the way, and no row is short or long."""
    text = files("analyzers.data").joinpath("tables", f"{table.table}.csv").read_text(encoding="utf-8")
    lines = list(csv.reader(line for line in text.splitlines() if not line.startswith("# ")))
    assert set(lines[0]) == {field.name for field in fields(table)}
    assert {len(line) for line in lines} == {len(lines[0])}
    assert len(rows(table)) == len(lines) - 1 > 0


@every_table
def test_each_row_names_its_source(table: type[Row]) -> None:
    """Every key is in the table of sources; a row said to be seen names something that can be looked into."""
    for row in rows(table):
        assert row.src
        assert all(key in sources() for key in keys(row.src)), row
        assert all(what in cite(row) for what in [sources()[keys(row.src)[0]].what])
        if row.prov == "seen":
            assert any(sources()[key].grade != "-" for key in keys(row.src)), row
        assert row.from_memory == (row.prov == "memory")


@every_table
def test_each_table_says_what_it_is(table: type[Row]) -> None:
    """The remarks above the header name the standard or the kind of source; the docstring says what the rows are."""
    assert len(" ".join(remarks(table))) > 30
    assert table.__doc__


@every_table
def test_no_row_stands_twice(table: type[Row]) -> None:
    """A doubled row would count twice wherever rows are counted."""
    assert len(set(rows(table))) == len(rows(table))


def test_keys_are_read_without_remarks() -> None:
    """Brackets hold what was taken from a source, not another source."""
    assert keys("AKSAN (grade count only);MEM") == ("AKSAN", "MEM")


def test_sources_are_graded_and_used_or_cited() -> None:
    """Each source says what it is; grades go from A to D, and "-" for arithmetic, practice and memory."""
    assert {source.grade for source in sources().values()} == {"A", "B", "C", "D", "-"}
    assert all(len(source.what) > 8 for source in sources().values())
    assert len(sources()) >= 70
