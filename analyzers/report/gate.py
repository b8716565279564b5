"""Whether a document passes: the policy's levels, rules, buckets and measures, less what was accepted."""

import datetime
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from analyzers.report.baseline import Accepted
from analyzers.settings import Policy


@dataclass(frozen=True, slots=True, kw_only=True)
class Gate:
    """What fails a model. `today` decides which accepted findings have expired."""

    policy: Policy
    accepted: tuple[Accepted, ...] = ()
    today: datetime.date

    def fails(self, document: Mapping[str, Any], finding: Mapping[str, Any]) -> bool:
        """Return True where this finding of the document fails its model."""
        policy = self.policy
        if finding["rule"] in policy.allow_rules:
            return False
        if finding["level"] not in policy.fail_levels and finding["rule"] not in policy.fail_rules:
            return False
        file_name = document["source"]["file_name"]
        return not any(each.covers(finding["fingerprint"], file_name, self.today) for each in self.accepted)

    def reasons(self, document: Mapping[str, Any]) -> tuple[str, ...]:
        """Return in one line each what fails the model; empty = it passes.

        A model that could not be analysed has no reasons here: that is told apart.
        """
        return tuple(reason for body in document["bodies"] for reason in self._of_body(document, body))

    def _of_body(self, document: Mapping[str, Any], body: Mapping[str, Any]) -> Iterator[str]:
        policy, triage = self.policy, body["triage"]
        for finding in body["findings"]:
            if self.fails(document, finding):
                yield f"{body['id']}: {finding['level']} {finding['rule']}: {finding['message']}"
        if triage["bucket"] in policy.fail_buckets:
            yield f"{body['id']}: bucket {triage['bucket']}: {triage['summary']}"
        if policy.max_difficulty is not None and triage["difficulty"] > policy.max_difficulty:
            yield f"{body['id']}: difficulty {triage['difficulty']:g} (at most {policy.max_difficulty:g})"
        measures = body["measures"]
        for name in policy.required_measures:
            if measures.get(name) is None and measures.get(f"{name}_applies", True):
                yield f"{body['id']}: measure {name} is required: {measures.get(f'{name}_none_because', 'not taken')}"
