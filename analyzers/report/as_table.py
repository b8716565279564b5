"""The list of checked files for a terminal: coloured by `rich`, or plain text for pipes and logs."""

from collections.abc import Iterable
from typing import Final

from rich.table import Table
from rich.text import Text

from analyzers.report.rows import Document, Row, rows
from analyzers.report.text import shorten
from analyzers.report.words import BUCKET
from analyzers.units import duration_range_text

HEADS: Final = ("File", "Body", "Bucket", "Difficulty", "Machining", "Setups", "Err/warn/note", "Questions", "Status")
_RIGHT: Final = {"Difficulty", "Setups", "Questions"}
_BUCKET_STYLE: Final = dict(zip(BUCKET.values(), ("green", "cyan", "yellow", "bold red"), strict=True))
_STATUS_STYLE: Final = {"complete": "", "partial": "yellow", "unreadable": "bold red"}
_GAP: Final = "  "
_WHY: Final = "Why"
_LEAST_NAME: Final = 16
_LEAST_WHY: Final = 20
"""Characters that a file name keeps, and below which the reason is left out."""


def to_rich(documents: Iterable[Document]) -> Table:
    """Return the list as a table of the `rich` library; one line per body, the reason in words at its end."""
    table = Table(box=None, pad_edge=False, header_style="bold", padding=(0, 2, 0, 0))
    for head in HEADS:
        table.add_column(
            head,
            justify="right" if head in _RIGHT else "left",
            overflow="ellipsis" if head == "File" else "fold",
            no_wrap=True,
        )
    table.add_column(_WHY, overflow="fold", style="dim")
    for row in rows(documents):
        cells = [Text(cell) for cell in _cells(row)]
        cells[2].stylize(_BUCKET_STYLE.get(row.bucket or "", ""))
        cells[-1].stylize(_STATUS_STYLE[row.status])
        table.add_row(*cells, Text(row.remark))
    return table


def to_table(documents: Iterable[Document], width: int = 120) -> str:
    """Return the list as plain lines of at most `width` characters where that is possible, columns aligned."""
    found = rows(documents)
    lines = [[*HEADS, _WHY], *([*_cells(row), row.remark] for row in found)]
    widths = [max(len(line[column]) for line in lines) for column in range(len(lines[0]))]
    fixed = sum(widths[1:-1]) + len(_GAP) * (len(widths) - 1)
    widths[0] = max(_LEAST_NAME, min(widths[0], (width - fixed) // 2))
    widths[-1] = width - fixed - widths[0]
    columns = list(zip(range(len(widths)), widths, (*HEADS, _WHY), strict=True))
    if widths[-1] < _LEAST_WHY:
        columns.pop()
    text = [_GAP.join(_fit(line[at], room, head) for at, room, head in columns).rstrip() for line in lines]
    return "\n".join(text) + "\n"


def _fit(cell: str, room: int, head: str) -> str:
    """Return the cell at its width: a name loses its middle, a sentence its end."""
    if head == _WHY:
        return cell if len(cell) <= room else cell[: room - 1] + "…"
    cell = shorten(cell, room)
    return cell.rjust(room) if head in _RIGHT else cell.ljust(room)


def _cells(row: Row) -> list[str]:
    return [
        row.file,
        "–" if row.body is None else row.body + (f" ({row.count}×)" if row.count != 1 else ""),
        row.bucket or "–",
        "–" if row.difficulty is None else f"{row.difficulty:.0f}",
        "–" if row.minutes is None else duration_range_text(row.minutes[0], row.minutes[2]),
        "–" if row.setups is None else str(row.setups),
        f"{row.errors}/{row.warnings}/{row.notes}" if row.body else "–",
        str(row.questions) if row.body else "–",
        row.status,
    ]
