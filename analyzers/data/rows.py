"""Reads the tables: one CSV each, one frozen dataclass for its rows, the source of every row beside it.

A table's dataclass has the fields of its CSV's columns and is all that is needed to read it: `rows(MetricTapDrill)`.
"""

import csv
import re
import types
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any, ClassVar, Literal, TypeVar, Union, get_args, get_origin, get_type_hints

Provenance = Literal["seen", "derived", "memory"]
"""How a row came about: read in the source named; arithmetic on such rows; recalled, and read nowhere."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """What every row has. `src` holds keys of the table of sources, separated by semicolons."""

    table: ClassVar[str]  # name of the CSV, without its ending

    prov: Provenance
    src: str

    @property
    def from_memory(self) -> bool:
        """A row from memory may suggest; what rests on it is a note at most."""
        return self.prov == "memory"


@dataclass(frozen=True, slots=True)
class SourceOfRows:
    """One entry of the table of sources."""

    key: str
    grade: Literal["A", "B", "C", "D", "-"]  # A standard or paper, B handbook or maker, C package, D web chart, - none
    what: str


_AnyRow = TypeVar("_AnyRow", bound=Row)


def rows(kind: type[_AnyRow]) -> tuple[_AnyRow, ...]:
    """Return all rows of a table, in the order of its file.

    >>> from analyzers.data.hole_tables import IsoClearance
    >>> next(row.medium_mm for row in rows(IsoClearance) if row.screw == "M6")
    6.6
    """
    return _rows(kind)  # type: ignore[arg-type]  # mypy takes the rows' __hash__ for that of their class


@cache
def _rows(kind: type[Any]) -> tuple[Any, ...]:
    """Return all rows of a table, read once."""
    hints = {name: hint for name, hint in get_type_hints(kind).items() if get_origin(hint) is not ClassVar}
    return tuple(kind(**{name: _cell(hint, row[name]) for name, hint in hints.items()}) for row in _csv(kind.table))


@cache
def sources() -> dict[str, SourceOfRows]:
    """Return the sources by their keys."""
    return {row["key"]: SourceOfRows(row["key"], _grade(row["grade"]), row["what"]) for row in _csv("sources")}


def keys(src: str) -> tuple[str, ...]:
    """Return the keys named in a `src` column, without the remarks in brackets.

    >>> keys("BDW (head);MEM (bore)")
    ('BDW', 'MEM')
    """
    return tuple(re.sub(r" \(.*?\)", "", part).strip() for part in src.split(";"))


def cite(row: Row) -> str:
    """Return the sources of a row in words, for the basis of a finding."""
    return "; ".join(sources()[key].what for key in keys(row.src))


def remarks(kind: type[Row]) -> tuple[str, ...]:
    """Return what stands above a table: what it is, its standard, how its rows were obtained."""
    text = files("analyzers.data").joinpath("tables", f"{kind.table}.csv").read_text(encoding="utf-8")
    return tuple(line.removeprefix("# ") for line in text.splitlines() if line.startswith("# "))


def _csv(table: str) -> Iterator[dict[str, str]]:
    """Yield the rows of a CSV; lines that begin with "# " are remarks."""
    text = files("analyzers.data").joinpath("tables", f"{table}.csv").read_text(encoding="utf-8")
    return csv.DictReader(line for line in text.splitlines() if not line.startswith("# "))


def _grade(text: str) -> Literal["A", "B", "C", "D", "-"]:
    """Return the grade; anything else is a fault of the table."""
    for grade in get_args(Literal["A", "B", "C", "D", "-"]):
        if text == grade:
            return grade  # type: ignore[no-any-return]  # get_args is untyped
    raise ValueError(f"grade {text!r}")


def _cell(hint: Any, text: str) -> Any:
    """Return a cell as the type of its field; an empty one is None where the field allows that."""
    if get_origin(hint) in (Union, types.UnionType):
        options = [each for each in get_args(hint) if each is not type(None)]
        return _cell(options[0], text) if text else None
    if get_origin(hint) is Literal:
        if text not in get_args(hint):
            raise ValueError(f"{text!r} is none of {get_args(hint)}")
        return text
    return hint(text)
