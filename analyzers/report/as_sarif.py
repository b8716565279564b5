"""Findings in SARIF 2.1.0 (OASIS, 2020), which code hosts and editors show beside the file.

A part has no lines; a result's place is the file as a whole, with the body and feature as logical location and the
fingerprint for matching results between runs.
"""

from collections.abc import Iterable, Mapping
from typing import Any, Final
from urllib.parse import quote

from analyzers.report.gate import path_of
from analyzers.report.gates import Fails, fails_on_error
from analyzers.report.rows import Document
from analyzers.report.text import LONG, clean

SCHEMA_ADDRESS: Final = "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json"


def to_sarif(documents: Iterable[Document], fails: Fails = fails_on_error, version: str = "") -> dict[str, Any]:
    """Return one SARIF run over all files; `version` is the program's own."""
    documents = list(documents)
    findings = [
        (document, body, finding)
        for document in documents
        for body in document["bodies"]
        for finding in body["findings"]
    ]
    names = sorted({finding["rule"] for _, _, finding in findings})
    driver: dict[str, Any] = {"name": "partsieve", "rules": [_rule(name) for name in names]}
    if version:
        driver["semanticVersion"] = version
    return {
        "$schema": SCHEMA_ADDRESS,
        "version": "2.1.0",
        "runs": [
            {
                "tool": {"driver": driver},
                "artifacts": _artifacts(documents),
                "invocations": [_invocation(documents)],
                "results": [
                    _result(document, body, finding, names.index(finding["rule"]), fails(finding))
                    for document, body, finding in findings
                ],
                "columnKind": "unicodeCodePoints",
            }
        ],
    }


def _rule(name: str) -> dict[str, Any]:
    words = name.replace("_", " ")
    return {"id": name, "name": name.title().replace("_", ""), "shortDescription": {"text": words.capitalize() + "."}}


def _address(document: Document) -> str:
    """Return the file's path as a relative address (RFC 3986); control characters are percent-encoded."""
    return quote(path_of(document).replace("\\", "/"), safe="/")


def _artifacts(documents: Iterable[Document]) -> list[dict[str, Any]]:
    """Return each file once: SARIF wants its artifacts unique (3.14.15), and one file may be checked twice."""
    found: list[dict[str, Any]] = []
    for artifact in map(_artifact, documents):
        if artifact not in found:
            found.append(artifact)
    return found


def _artifact(document: Document) -> dict[str, Any]:
    source = document["source"]
    artifact: dict[str, Any] = {"location": {"uri": _address(document)}, "mimeType": "model/step"}
    if source["size_bytes"]:
        artifact["length"] = source["size_bytes"]
    if source["sha256"]:
        artifact["hashes"] = {"sha-256": source["sha256"]}
    return artifact


def _invocation(documents: list[Document]) -> dict[str, Any]:
    """Return how the run went: each problem of each file is a notification."""
    notes = [
        {
            "level": "error" if document["status"] == "unreadable" else "warning",
            "message": {"text": clean(problem["message"], LONG)},
            "locations": [{"physicalLocation": {"artifactLocation": {"uri": _address(document)}}}],
        }
        for document in documents
        for problem in document["problems"]
    ]
    whole = all(document["status"] != "unreadable" for document in documents)
    return {"executionSuccessful": whole, "toolExecutionNotifications": notes}


def _result(
    document: Document, body: Mapping[str, Any], finding: Mapping[str, Any], rule_index: int, failed: bool
) -> dict[str, Any]:
    where = [{"name": body["id"], "kind": "module", "fullyQualifiedName": body["id"]}]
    if finding["feature"]:
        name = finding["feature"]
        where = [{"name": name, "kind": "member", "fullyQualifiedName": f"{body['id']}/{name}"}]
    text = " ".join(clean(finding[part], LONG) for part in ("message", "suggestion", "effect") if finding[part])
    result: dict[str, Any] = {
        "ruleId": finding["rule"],
        "ruleIndex": rule_index,
        "level": "error" if failed else ("note" if finding["level"] == "note" else "warning"),
        "message": {"text": text},
        "locations": [
            {
                "physicalLocation": {"artifactLocation": {"uri": _address(document)}, "region": {"startLine": 1}},
                "logicalLocations": where,
            }
        ],
        "properties": {"level": finding["level"], "faces": finding["faces"], "basis": clean(finding["basis"], LONG)},
    }
    if because := finding.get("accepted_because"):
        accepted = {"kind": "external", "status": "accepted", "justification": clean(because, LONG)}
        result |= {"suppressions": [accepted], "baselineState": "unchanged"}
    if finding["fingerprint"]:
        result["partialFingerprints"] = {"partsieve/v1": f"{finding['rule']}:{finding['fingerprint']}"}
    return result
