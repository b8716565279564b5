"""One line for each body of a report document: what the table, CSV and Markdown show.

Works on documents (what `to_json` returns, or a `report.json` read back), so that lists of reports need no geometry.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from analyzers.report.text import LONG, clean
from analyzers.report.words import BUCKET

Document = Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Row:
    """One body, or one file without bodies (then `body` and all that follows from it is None)."""

    file: str
    status: str
    body: str | None
    name: str | None
    count: int | None
    bucket: str | None  # the word for people
    difficulty: float | None
    minutes: tuple[float, float, float] | None  # low, likely, high, each
    setups: int | None
    errors: int
    warnings: int
    notes: int
    questions: int
    remark: str  # the first problem, else the reason for the bucket

    @property
    def findings(self) -> str:
        """Counts by level in words that fit a table: "1 error, 2 warnings"."""
        counts = ((self.errors, "error"), (self.warnings, "warning"), (self.notes, "note"))
        return ", ".join(f"{number} {word}{'s' * (number > 1)}" for number, word in counts if number) or "–"


def rows(documents: Iterable[Document]) -> list[Row]:
    """Return one row per body, one for a file without bodies, files in the order given."""
    return [row for document in documents for row in _file_rows(document)]


def _file_rows(document: Document) -> Iterable[Row]:
    file = clean(document["source"]["file_name"])
    problems: Sequence[Mapping[str, Any]] = document["problems"]
    for body in document["bodies"]:
        levels = [finding["level"] for finding in body["findings"]]
        triage, own = body["triage"], [each for each in problems if each["body"] in (None, body["id"])]
        minutes = triage["machining_minutes"]
        yield Row(
            file=file,
            status=document["status"],
            body=body["id"],
            name=clean(body["name"]),
            count=body["count"],
            bucket=BUCKET[triage["bucket"]],
            difficulty=triage["difficulty"],
            minutes=(minutes["low"], minutes["likely"], minutes["high"]),
            setups=len(body["setups"]),
            errors=levels.count("error"),
            warnings=levels.count("warning"),
            notes=levels.count("note"),
            questions=len(body["questions"]),
            remark=clean(_remark(document, own[0]["message"] if own else triage["summary"]), LONG),
        )
    if not document["bodies"]:
        yield Row(
            file=file,
            status=document["status"],
            body=None,
            name=None,
            count=None,
            bucket=None,
            difficulty=None,
            minutes=None,
            setups=None,
            errors=0,
            warnings=0,
            notes=0,
            questions=0,
            remark=clean(problems[0]["message"], LONG) if problems else "no solid body in the file",
        )


def _remark(document: Document, why: str) -> str:
    """Return what is most worth knowing, after a word on doubtful or repaired geometry."""
    doubt = headline_of(document)
    return f"{doubt} {why}" if doubt else why


def headline_of(document: Document) -> str | None:
    """Return the word on doubtful or repaired geometry; documents before 1.1 have none."""
    said: str | None = document.get("health", {}).get("headline")
    return said


def ranked(found: Iterable[Row]) -> list[Row]:
    """Return the hardest first, files that could not be read before all others."""
    return sorted(found, key=lambda row: (row.difficulty is not None, -(row.difficulty or 0.0), row.file))
