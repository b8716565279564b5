"""The comparison as lines for a terminal, and as Markdown."""

from collections.abc import Iterator
from typing import Final

from analyzers.compare.changes import BodyComparison, Comparison
from analyzers.compare.words import headline, lines
from analyzers.report.as_markdown import plain
from analyzers.report.text import clean

_SIGNS: Final = {"changed": "~", "added": "+", "removed": "-", "number": " "}

_ONLY: Final = {"-": "only the old", "+": "only the new"}


def to_table(comparison: Comparison) -> str:
    """Return the comparison as plain lines: ~ changed, + added, - removed; what follows is indented below."""
    rows = [f"{clean(comparison.old.file_name)} → {clean(comparison.new.file_name)}: {headline(comparison)}"]
    rows += [f"  ! {clean(each, 300)}" for each in comparison.notes if each not in rows[0]]
    rows += [f"  - body {each}" for each in comparison.removed_bodies]
    rows += [f"  + body {each}" for each in comparison.added_bodies]
    for body in comparison.bodies:
        several = len(comparison.bodies) > 1
        rows += [f"  body {body.old} → {body.new}: {body.relation}"] if several else []
        rows += [f"  {_SIGNS[each.what]} {each.text}" for each in lines(body)]
        rows += [f"  {sign} {clean(text, 300)}" for sign, text in one_sided(body)]
    return "\n".join(rows)


def to_markdown(comparison: Comparison) -> str:
    """Return the comparison as Markdown, for a pull request's comment."""
    rows = [f"### {plain(comparison.old.file_name)} → {plain(comparison.new.file_name)}", "", headline(comparison)]
    rows += ["", *(f"- **{plain(each)}**" for each in comparison.notes)] if comparison.notes else []
    for body in comparison.bodies:
        found = [*lines(body)]
        if not found:
            continue
        rows += ["", f"| {body.old} → {body.new} | what |", "| --- | --- |"]
        rows += [f"| {each.what} | {plain(each.text)} |" for each in found]
        rows += ["", *(f"- {_ONLY[sign]}: {plain(text)}" for sign, text in one_sided(body))]
    return "\n".join(rows).rstrip() + "\n"


def one_sided(body: BodyComparison) -> Iterator[tuple[str, str]]:
    """Yield what is said of only one of the revisions: "-" of the old, "+" of the new."""
    for sign, found in (("-", body.tolerances_gone), ("+", body.tolerances_new)):
        yield from ((sign, f"tolerance in the model: {text}") for text in found)
    for sign, found in (("-", body.findings_gone), ("+", body.findings_new)):
        yield from ((sign, f"finding: {text}") for text in found)
    for sign, found in (("-", body.questions_gone), ("+", body.questions_new)):
        yield from ((sign, f"question: {text}") for text in found)
