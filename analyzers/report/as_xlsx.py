"""Reports as one workbook: bodies with sums, features, hole chart, findings, where the minutes go, questions.

Sums are formulas, so that an estimator can change a quantity and see the total move. Text from a model or a settings
file is written as text, never as a formula.
"""

import io
from collections.abc import Iterable, Sequence
from typing import Final

from xlsxwriter import Workbook
from xlsxwriter.format import Format
from xlsxwriter.utility import xl_col_to_name
from xlsxwriter.worksheet import Worksheet

from analyzers.report.cautions import CAUTIONS
from analyzers.report.rows import Document
from analyzers.report.sheets import HEADS, Cells, sheets

_SUMS: Final = {
    "Bodies": ("count", "minutes of all", "errors", "warnings", "notes", "questions"),
    "Hole chart": ("quantity",),
    "Estimate": ("minutes of all",),
}
_WIDE: Final = {
    "file": 24,
    "name": 24,
    "message": 70,
    "change": 50,
    "gain": 40,
    "why": 60,
    "question": 100,
    "basis": 50,
}


def to_xlsx(documents: Iterable[Document]) -> bytes:
    """Return the workbook's bytes; the same documents give the same sheets.

    Lengths are millimetres, times minutes. A value that is not known is an empty cell.
    """
    stream = io.BytesIO()
    book = Workbook(
        stream,
        {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False, "strings_to_numbers": False},
    )
    head = book.add_format({"bold": True, "bottom": 2, "text_wrap": True, "valign": "top"})
    total = book.add_format({"bold": True, "top": 1})
    wrap = book.add_format({"text_wrap": True, "valign": "top"})
    for title, lines in sheets(documents).items():
        sheet = book.add_worksheet(title)
        _fill(sheet, HEADS[title], lines, (head, wrap))
        _sum(sheet, HEADS[title], _SUMS.get(title, ()), lines, total)
        if title in ("Bodies", "Estimate"):
            _multiply(sheet, HEADS[title], lines)
    about = book.add_worksheet("About")
    about.set_column(0, 0, 120, wrap)
    for row, said in enumerate(CAUTIONS):
        about.write_string(row, 0, said)
    book.close()
    return stream.getvalue()


def _fill(sheet: Worksheet, heads: Sequence[str], lines: Sequence[Cells], formats: tuple[Format, Format]) -> None:
    head, wrap = formats
    sheet.freeze_panes(1, 0)
    for column, name in enumerate(heads):
        sheet.set_column(column, column, _WIDE.get(name, 12), wrap)
        sheet.write_string(0, column, name, head)
    for row, cells in enumerate(lines, start=1):
        for column, value in enumerate(cells):
            if value is not None:
                sheet.write(row, column, value)
    if lines:
        sheet.autofilter(0, 0, len(lines), len(heads) - 1)


def _sum(sheet: Worksheet, heads: Sequence[str], names: Sequence[str], lines: Sequence[Cells], style: Format) -> None:
    """Write a line of sums two lines below the last, outside what the filter sorts."""
    if not lines or not names:
        return
    row = len(lines) + 2
    sheet.write_string(row, 0, "sum", style)
    for name in names:
        at = heads.index(name)
        letter = xl_col_to_name(at)
        known = [cells[at] for cells in lines if cells[at] is not None]
        sheet.write_formula(row, at, f"=SUM({letter}2:{letter}{len(lines) + 1})", style, sum(known))


def _multiply(sheet: Worksheet, heads: Sequence[str], lines: Sequence[Cells]) -> None:
    """Write "minutes of all" as count times minutes."""
    each = "minutes likely" if "minutes likely" in heads else "minutes each"
    one, many, at = (heads.index(name) for name in (each, "count", "minutes of all"))
    for row, cells in enumerate(lines, start=1):
        if cells[at] is not None:
            formula = f"={xl_col_to_name(many)}{row + 1}*{xl_col_to_name(one)}{row + 1}"
            sheet.write_formula(row, at, formula, None, cells[at])
