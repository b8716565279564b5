"""Accepting findings: from the documents of a run to a file of accepted findings."""

import datetime
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from analyzers.report.baseline import Accepted, write_baseline
from analyzers.report.gate import Gate
from analyzers.report.text import clean
from worker.store import write_whole


@dataclass(frozen=True, slots=True, kw_only=True)
class Acceptance:
    """Into which file, why, by whom, until when."""

    path: Path
    reason: str
    owner: str | None
    expires: datetime.date | None


def accept_all(documents: Iterable[Mapping[str, Any]], gate: Gate, acceptance: Acceptance) -> int:
    """Write every finding that fails the gate into the file, beside what was accepted before; return how many.

    An expired entry of the same finding gives way to the new one; entries of findings that are gone are left out.
    """
    documents = list(documents)
    gone = set(gate.fixed(documents))
    kept = [each for each in gate.accepted if each not in gone and each.counts(gate.today)]
    new: dict[tuple[str, str], Accepted] = {}
    for document in documents:
        for body in document["bodies"]:
            for finding in body["findings"]:
                if gate.fails(document, finding):
                    entry = _entry(document, finding, acceptance)
                    new[(entry.file or "", entry.fingerprint)] = entry
    write_whole(acceptance.path, write_baseline([*kept, *new.values()]))
    return len(new)


def _entry(document: Mapping[str, Any], finding: Mapping[str, Any], acceptance: Acceptance) -> Accepted:
    return Accepted(
        fingerprint=finding["fingerprint"],
        file=document["source"]["file_name"],
        what=clean(f"{finding['rule']}: {finding['message']}", 200),
        reason=acceptance.reason,
        owner=acceptance.owner,
        expires=acceptance.expires,
    )
