"""Whether a document passes: the policy's levels, rules, buckets and measures, less what was accepted."""

import datetime
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Literal

from analyzers.report.baseline import Accepted
from analyzers.settings import Policy

Standing = Literal["passes", "fails", "accepted", "expired"]
"""Of a finding: not asked for by the policy; fails; would, but was accepted; was accepted until a day that is past."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Gate:
    """What fails a model. `today` decides which accepted findings have expired."""

    policy: Policy
    accepted: tuple[Accepted, ...] = ()
    today: datetime.date

    def standing(self, document: Mapping[str, Any], finding: Mapping[str, Any]) -> Standing:
        """Return how one finding of a document stands."""
        policy = self.policy.for_model(path_of(document))
        if finding["rule"] in policy.allow_rules:
            return "passes"
        if finding["level"] not in policy.fail_levels and finding["rule"] not in policy.fail_rules:
            return "passes"
        if self.acceptance(document, finding) is not None:
            return "accepted"
        return "expired" if self._meant(document, finding) else "fails"

    def fails(self, document: Mapping[str, Any], finding: Mapping[str, Any]) -> bool:
        """Return True where this finding of the document fails its model."""
        return self.standing(document, finding) in ("fails", "expired")

    def acceptance(self, document: Mapping[str, Any], finding: Mapping[str, Any]) -> Accepted | None:
        """Return the entry that covers a finding; None = none does."""
        return next((each for each in self._meant(document, finding) if each.counts(self.today)), None)

    def _meant(self, document: Mapping[str, Any], finding: Mapping[str, Any]) -> list[Accepted]:
        """Return the entries about a finding, of whatever day."""
        file_name = document["source"]["file_name"]
        return [each for each in self.accepted if each.means(finding["fingerprint"], file_name)]

    def reasons(self, document: Mapping[str, Any]) -> tuple[str, ...]:
        """Return in one line each what fails the model; empty = it passes.

        A model that could not be analysed has no reasons here: that is told apart.
        """
        return tuple(reason for body in document["bodies"] for reason in self._of_body(document, body))

    def _of_body(self, document: Mapping[str, Any], body: Mapping[str, Any]) -> Iterator[str]:
        policy, triage = self.policy.for_model(path_of(document)), body["triage"]
        for finding in body["findings"]:
            standing = self.standing(document, finding)
            if standing in ("fails", "expired"):
                until = " (its acceptance has expired)" if standing == "expired" else ""
                yield f"{body['id']}: {finding['level']} {finding['rule']}: {finding['message']}{until}"
        if triage["bucket"] in policy.fail_buckets:
            yield f"{body['id']}: bucket {triage['bucket']}: {triage['summary']}"
        if policy.max_difficulty is not None and triage["difficulty"] > policy.max_difficulty:
            yield f"{body['id']}: difficulty {triage['difficulty']:g} (at most {policy.max_difficulty:g})"
        measures = body["measures"]
        for name in policy.required_measures:
            if measures.get(name) is None and measures.get(f"{name}_applies", True):
                yield f"{body['id']}: measure {name} is required: {measures.get(f'{name}_none_because', 'not taken')}"

    def fixed(self, documents: Iterable[Mapping[str, Any]]) -> tuple[Accepted, ...]:
        """Return the accepted findings that are no longer there: of models that were analysed, named in the entry."""
        seen: dict[str, set[str]] = {}
        for document in documents:
            if document["bodies"]:
                found = {finding["fingerprint"] for body in document["bodies"] for finding in body["findings"]}
                seen.setdefault(document["source"]["file_name"], set()).update(found)
        return tuple(each for each in self.accepted if each.file in seen and each.fingerprint not in seen[each.file])


def path_of(document: Mapping[str, Any]) -> str:
    """Return the path under which a document's model was given, where that is known; else its file name."""
    return str(document.get("path") or document["source"]["file_name"])
