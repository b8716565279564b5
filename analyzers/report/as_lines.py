"""One line for each finding, as compilers print theirs, so that build servers and editors show it beside the file."""

from collections.abc import Iterable

from analyzers.report.gate import path_of
from analyzers.report.rows import Document, headline_of
from analyzers.report.text import LONG, clean


def to_lines(documents: Iterable[Document]) -> str:
    """Return "path:1: level: message [rule fingerprint]" lines; a model has no lines, so each stands in its first.

    The level is "error" for what fails the gate; what passes is a "warning" or a "note". What was accepted is left out.
    """
    lines = []
    for document in documents:
        path = clean(path_of(document), LONG)
        level = "error" if document["status"] == "unreadable" else "warning"
        if document.get("health", {}).get("repaired"):
            lines.append(f"{path}:1: note: {clean(headline_of(document) or '', LONG)}")
        lines += [f"{path}:1: {level}: {clean(each['message'], LONG)}" for each in document["problems"]]
        for body in document["bodies"]:
            for finding in body["findings"]:
                if finding.get("gate") == "accepted":
                    continue
                fails = finding.get("fails", finding["level"] == "error")
                level = "error" if fails else "note" if finding["level"] == "note" else "warning"
                said = " ".join(clean(finding[part], LONG) for part in ("message", "suggestion") if finding[part])
                lines.append(f"{path}:1: {level}: {said} [{finding['rule']} {finding['fingerprint']}]")
    return "".join(f"{each}\n" for each in lines)
