"""What `check` prints on stdout, from the documents on disk."""

import json
import operator
import os
import sys
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any, overload

import click

from analyzers.report.as_csv import to_csv
from analyzers.report.as_junit import to_junit
from analyzers.report.as_lines import to_lines
from analyzers.report.as_markdown import to_markdown
from analyzers.report.as_sarif import to_sarif
from analyzers.report.as_table import to_rich, to_table
from analyzers.report.gate import Gate
from worker.store import read_document

Document = dict[str, Any]
PIPE_WIDTH = 200
_FAILS = operator.itemgetter("fails")


class Documents(Sequence[Document]):
    """Reports on disk as a sequence; each is read when asked for, so that ten thousand fit into memory.

    Every document bears `path`: where its model was found, and every finding `fails` and `gate`: how it stands.
    """

    def __init__(self, paths: Sequence[tuple[Path, str]], gate: Gate) -> None:
        self._paths = list(paths)
        self._gate = gate

    def __len__(self) -> int:
        return len(self._paths)

    @overload
    def __getitem__(self, index: int) -> Document: ...
    @overload
    def __getitem__(self, index: slice) -> "Documents": ...
    def __getitem__(self, index: int | slice) -> "Document | Documents":
        """Return one document, or a part of the sequence."""
        if isinstance(index, slice):
            return Documents(self._paths[index], self._gate)
        path, name = self._paths[index]
        document = read_document(path) | {"path": name}
        for body in document["bodies"]:
            for finding in body["findings"]:
                standing = self._gate.standing(document, finding)
                accepted = self._gate.acceptance(document, finding) if standing == "accepted" else None
                finding["fails"], finding["gate"] = standing in ("fails", "expired"), standing
                finding["accepted_because"] = accepted.reason if accepted else None
        return document

    def texts(self) -> Iterator[str]:
        """Yield each document as it stands on disk, on one line."""
        return (each.read_text("utf-8").strip() for each, _ in self._paths)


def print_all(form: str, documents: Documents) -> None:
    """Print all documents in one of the formats; `jsonl` was printed while they came in."""
    match form:
        case "table":
            _print_table(documents)
        case "json":
            click.echo("[\n" + ",\n".join(documents.texts()) + "\n]")
        case "csv":
            click.echo(to_csv(documents), nl=False)
        case "markdown":
            click.echo(to_markdown(documents).rstrip())
        case "lines":
            click.echo(to_lines(documents), nl=False)
        case "junit":
            click.echo(to_junit(documents, fails=_FAILS))
        case "sarif":
            click.echo(json.dumps(to_sarif(documents, fails=_FAILS), ensure_ascii=False, indent=1))


def _print_table(documents: Documents) -> None:
    if sys.stdout.isatty() and not os.environ.get("NO_COLOR"):
        from rich.console import Console

        Console().print(to_rich(documents))
    else:
        click.echo(to_table(documents, width=PIPE_WIDTH), nl=False)
