"""What `check` prints on stdout, from the documents on disk."""

import json
import os
import sys
from collections.abc import Callable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any, overload

import click

from analyzers.report.as_csv import to_csv
from analyzers.report.as_junit import to_junit
from analyzers.report.as_markdown import to_markdown
from analyzers.report.as_sarif import to_sarif
from analyzers.report.as_table import to_rich, to_table
from worker.store import read_document

Document = dict[str, Any]
Fails = Callable[[Mapping[str, Any], Mapping[str, Any]], bool]

PIPE_WIDTH = 120


class Documents(Sequence[Document]):
    """Reports on disk as a sequence; each is read when asked for, so that ten thousand fit into memory."""

    def __init__(self, paths: Sequence[Path]) -> None:
        self._paths = list(paths)

    def __len__(self) -> int:
        return len(self._paths)

    @overload
    def __getitem__(self, index: int) -> Document: ...
    @overload
    def __getitem__(self, index: slice) -> "Documents": ...
    def __getitem__(self, index: int | slice) -> "Document | Documents":
        """Return one document, or a part of the sequence."""
        if isinstance(index, slice):
            return Documents(self._paths[index])
        return read_document(self._paths[index])

    def texts(self) -> Iterator[str]:
        """Yield each document as it stands on disk, on one line."""
        return (each.read_text("utf-8").strip() for each in self._paths)


def print_all(form: str, documents: Documents, fails: Fails) -> None:
    """Print all documents in one of the formats; `jsonl` was printed while they came in."""
    match form:
        case "table":
            _print_table(documents)
        case "json":
            click.echo("[\n" + ",\n".join(documents.texts()) + "\n]")
        case "csv":
            click.echo(to_csv(documents), nl=False)
        case "markdown":
            click.echo(to_markdown(documents))
        case "junit":
            click.echo(to_junit(documents, fails=fails))
        case "sarif":
            click.echo(json.dumps(to_sarif(documents, fails=fails), ensure_ascii=False, indent=1))


def _print_table(documents: Documents) -> None:
    if sys.stdout.isatty() and not os.environ.get("NO_COLOR"):
        from rich.console import Console

        Console().print(to_rich(documents))
    else:
        click.echo(to_table(documents, width=PIPE_WIDTH))
