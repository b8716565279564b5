"""The list of jobs for a spreadsheet: as CSV (RFC 4180) and as a workbook (ISO/IEC 29500)."""

import csv
import io
from collections.abc import Callable, Iterable
from typing import Any, Final

import xlsxwriter

from worker.ledger import Entry

_FORMULA: Final = ("=", "+", "-", "@", "\t", "\r")


def _from_summary(name: str) -> Callable[[Entry], Any]:
    return lambda entry: (entry.summary or {}).get(name)


def _size(axis: int) -> Callable[[Entry], Any]:
    def value(entry: Entry) -> Any:
        size = (entry.summary or {}).get("size_mm")
        return size[axis] if size else None

    return value


COLUMNS: Final[dict[str, Callable[[Entry], Any]]] = {
    "file": lambda entry: entry.file_name,
    "member": lambda entry: entry.member,
    "product": _from_summary("product"),
    "customer": lambda entry: entry.customer,
    "due": lambda entry: entry.due,
    "state": lambda entry: entry.state.replace("_", " "),
    "status": lambda entry: entry.status,
    "material": lambda entry: entry.material_used,
    "quantity": lambda entry: entry.quantity,
    "bucket": lambda entry: entry.bucket and entry.bucket.replace("_", " "),
    "difficulty": lambda entry: entry.difficulty,
    "minutes_likely": lambda entry: entry.minutes,
    "setups": lambda entry: entry.setups,
    "min_internal_radius_mm": lambda entry: entry.min_internal_radius_mm,
    "min_wall_mm": _from_summary("min_wall_mm"),
    "size_x_mm": _size(0),
    "size_y_mm": _size(1),
    "size_z_mm": _size(2),
    "errors": _from_summary("errors"),
    "warnings": _from_summary("warnings"),
    "questions": lambda entry: entry.questions,
    "why": _from_summary("why"),
    "problem": lambda entry: entry.problem,
    "sha256": lambda entry: entry.file_digest,
}
"""Name of each column, with its unit, and where its value comes from; what is not known is an empty cell."""

CAUTION: Final = (
    "Times and limits are estimates from the models' geometry and the shop settings; the shop's own procedures, local "
    "codes and the judgement of qualified people come first."
)


def list_csv(entries: Iterable[Entry]) -> str:
    """Return the list as CSV; texts that a spreadsheet would run get an apostrophe (OWASP, "CSV Injection")."""
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\r\n")
    writer.writerow(COLUMNS)
    writer.writerows([_harmless(value(entry)) for value in COLUMNS.values()] for entry in entries)
    return stream.getvalue()


def list_xlsx(entries: Iterable[Entry]) -> bytes:
    """Return the list as a workbook; texts are texts, whatever they begin with."""
    stream = io.BytesIO()
    options = {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False, "strings_to_numbers": False}
    with xlsxwriter.Workbook(stream, options) as book:
        sheet = book.add_worksheet("parts")
        sheet.write_row(0, 0, COLUMNS, book.add_format({"bold": True, "bottom": 1}))
        row = 0
        for row, entry in enumerate(entries, start=1):
            for column, value in enumerate(COLUMNS.values()):
                content = value(entry)
                if isinstance(content, str):
                    sheet.write_string(row, column, content)
                elif content is not None:
                    sheet.write_number(row, column, content)
        sheet.freeze_panes(1, 1)
        sheet.autofilter(0, 0, max(row, 1), len(COLUMNS) - 1)
        sheet.set_column(0, 0, 32)
        sheet.set_column(1, len(COLUMNS) - 1, 13)
        sheet.set_footer(f"&L{CAUTION}")
    return stream.getvalue()


def _harmless(value: Any) -> Any:
    return "'" + value if isinstance(value, str) and value.startswith(_FORMULA) else value
