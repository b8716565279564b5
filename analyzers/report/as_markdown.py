"""A summary in Markdown (with GitHub's tables) for merge requests, logs and mail: the list, then what to change."""

import re
from collections.abc import Iterable, Mapping
from typing import Any, Final

from analyzers.report.cautions import CAUTIONS
from analyzers.report.rows import Document, headline_of, rows
from analyzers.report.text import LONG, clean, plural
from analyzers.report.words import LEVEL
from analyzers.units import duration_range_text

_HEADS: Final = ("File", "Body", "Bucket", "Difficulty", "Machining", "Setups", "Findings", "Questions", "Status")
_SPECIAL: Final = re.compile(r"([\\`*_{}\[\]<>()#+!|~&])")
_LINKED: Final = re.compile(r"@|#(?=\d)|:(?=//)|(?<=www)\.", re.IGNORECASE)
"""Mentions, numbers of issues and bare addresses become links where they stand; an empty comment within stops that."""
_FINDINGS_EACH: Final = 20
"""Findings listed for one body; the rest is counted."""


def to_markdown(documents: Iterable[Document]) -> str:
    """Return the summary; text from outside shows as it is and forms no markup, link or mention."""
    documents = list(documents)
    lines = ["| " + " | ".join(_HEADS) + " |", "|" + " --- |" * len(_HEADS)]
    for row in rows(documents):
        cells = [
            row.file,
            row.body or "–",
            row.bucket or "–",
            "–" if row.difficulty is None else f"{row.difficulty:.0f}",
            "–" if row.minutes is None else duration_range_text(row.minutes[0], row.minutes[2]),
            "–" if row.setups is None else str(row.setups),
            row.findings,
            str(row.questions),
            row.status,
        ]
        lines.append("| " + " | ".join(plain(cell) for cell in cells) + " |")
    for document in documents:
        lines += _details(document)
    lines += ["", *(f"- {caution}" for caution in CAUTIONS)]
    return "\n".join(lines) + "\n"


def plain(text: str, limit: int = LONG) -> str:
    """Return text that Markdown shows letter by letter."""
    return _LINKED.sub(r"\g<0><!-- -->", _SPECIAL.sub(r"\\\1", clean(text, limit)))


def _details(document: Document) -> list[str]:
    file, bodies = plain(document["source"]["file_name"]), document["bodies"]
    headline = headline_of(document)
    lines = [] if headline is None else [f"- **Model**: {plain(headline)}"]
    lines += [f"- **Problem**: {plain(problem['message'])}" for problem in document["problems"]]
    for body in bodies:
        name = f"{body['id']}: " if len(bodies) > 1 else ""
        lines += [f"- {name}{_finding(each)}" for each in body["findings"][:_FINDINGS_EACH]]
        more = len(body["findings"]) - _FINDINGS_EACH
        if more > 0:
            lines.append(f"- {name}{plural(more, 'further finding')} in the report.")
        lines += [f"- {name}**Question**: {plain(each)}" for each in body["questions"]]
    return ["", f"### {file}", "", *lines] if lines else []


def _finding(finding: Mapping[str, Any]) -> str:
    said = f"**{LEVEL[finding['level']]}** {plain(finding['message'])}"
    return " ".join([said, *(plain(finding[part]) for part in ("suggestion", "effect") if finding[part])])
