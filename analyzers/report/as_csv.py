"""The list of checked files as CSV (RFC 4180), one line per body, for a spreadsheet or a database."""

import csv
import io
from collections.abc import Iterable
from typing import Any, Final

from analyzers.report.rows import Document, Row, rows
from analyzers.report.sheets import HEADS, sheets

COLUMNS: Final = (
    "file",
    "status",
    "body",
    "name",
    "count",
    "bucket",
    "difficulty",
    "minutes_low",
    "minutes_likely",
    "minutes_high",
    "setups",
    "errors",
    "warnings",
    "notes",
    "questions",
    "remark",
)
_FORMULA: Final = ("=", "+", "-", "@", "\t", "\r")


def to_csv(documents: Iterable[Document]) -> str:
    """Return the lines with a header; a value that is not known is an empty cell."""
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\r\n")
    writer.writerow(COLUMNS)
    writer.writerows([_cell(value) for value in _values(row)] for row in rows(documents))
    return stream.getvalue()


def features_csv(documents: Iterable[Document]) -> str:
    """Return one line for each feature of each body, lengths in millimetres; what is not known is an empty cell."""
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\r\n")
    writer.writerow(HEADS["Features"])
    writer.writerows([_cell(value) for value in line] for line in sheets(documents)["Features"])
    return stream.getvalue()


def _values(row: Row) -> list[Any]:
    minutes = row.minutes or (None, None, None)
    counts = (row.errors, row.warnings, row.notes, row.questions) if row.body else (None,) * 4
    head = (row.file, row.status, row.body, row.name, row.count, row.bucket, row.difficulty)
    return [*head, *minutes, row.setups, *counts, row.remark]


def _cell(value: Any) -> Any:
    """Return a text that a spreadsheet would run as a formula with a leading apostrophe (OWASP, "CSV Injection")."""
    return "'" + value if isinstance(value, str) and value.startswith(_FORMULA) else value
