"""Results for build servers in the JUnit XML form: one suite per file, one case per body and finding.

Follows the schema that most readers share (`testsuites`, `testsuite`, `testcase`, `failure`, `error`, `properties`).
A finding that fails the gate is a `failure`, a file that could not be analysed an `error`.
"""

import re
import xml.etree.ElementTree as ET
from collections.abc import Iterable, Mapping
from typing import Any

from analyzers.report.gates import Fails, fails_on_error
from analyzers.report.rows import Document
from analyzers.report.text import LONG, clean

_NOT_XML = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


def to_junit(documents: Iterable[Document], fails: Fails = fails_on_error) -> str:
    """Return the XML text with its declaration."""
    root = ET.Element("testsuites", name="partsieve")
    totals = {"tests": 0, "failures": 0, "errors": 0}
    for document in documents:
        suite = ET.SubElement(root, "testsuite", name=_text(document["source"]["file_name"]))
        cases = list(_cases(suite, document, fails))
        counts = {
            "tests": len(cases),
            "failures": sum(case.find("failure") is not None for case in cases),
            "errors": sum(case.find("error") is not None for case in cases),
        }
        suite.attrib |= {name: str(count) for name, count in counts.items()}
        suite.attrib |= {"skipped": "0", "time": f"{document['timings_s'].get('total') or 0.0:.3f}"}
        totals = {name: total + counts[name] for name, total in totals.items()}
    root.attrib |= {name: str(total) for name, total in totals.items()}
    ET.indent(root)
    return '<?xml version="1.0" encoding="UTF-8"?>\n' + ET.tostring(root, encoding="unicode") + "\n"


def _cases(suite: ET.Element, document: Document, fails: Fails) -> Iterable[ET.Element]:
    """Yield the cases of one file: whether it could be analysed, then each finding."""
    file = _text(document["source"]["file_name"])
    readable = ET.SubElement(suite, "testcase", name="analysis", classname=file, time="0")
    messages = "\n".join(_text(problem["message"]) for problem in document["problems"])
    if document["status"] == "unreadable" or not document["bodies"]:
        error = ET.SubElement(readable, "error", message=messages.split("\n")[0] or "no body", type=document["status"])
        error.text = messages
    elif messages:
        ET.SubElement(readable, "system-out").text = messages
    yield readable
    for body in document["bodies"]:
        for finding in body["findings"]:
            yield _finding(suite, file, body, finding, fails(finding))


def _finding(
    suite: ET.Element, file: str, body: Mapping[str, Any], finding: Mapping[str, Any], failed: bool
) -> ET.Element:
    where = finding["feature"] or body["id"]
    name = f"{finding['rule']} {body['id']} {where} {finding['fingerprint'][:12]}".strip()
    case = ET.SubElement(suite, "testcase", name=_text(name), classname=f"{file}.{finding['rule']}", time="0")
    said = "\n".join(
        _text(line) for line in (finding["message"], finding["suggestion"], finding["effect"], finding["basis"]) if line
    )
    if failed:
        failure = ET.SubElement(case, "failure", message=_text(finding["message"]), type=finding["level"])
        failure.text = said
    else:
        ET.SubElement(case, "system-out").text = f"{finding['level']}: {said}"
    return case


def _text(text: str) -> str:
    """Return text on one line, without the characters that XML 1.0 forbids even as references."""
    return _NOT_XML.sub("?", clean(text, LONG))
