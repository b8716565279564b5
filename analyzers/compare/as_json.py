"""The comparison as the document that other programs read; lengths are millimetres, angles degrees."""

from dataclasses import asdict
from typing import Any, Final

from analyzers.compare.changes import BodyComparison, Comparison
from analyzers.report.as_json import number
from analyzers.report.cautions import CAUTIONS

SCHEMA_VERSION: Final = "1.0"


def to_json(comparison: Comparison) -> dict[str, Any]:
    """Return the comparison as plain dicts, lists, strings, numbers and None; numbers rounded to 1e-6."""
    return {
        "schema_version": SCHEMA_VERSION,
        "same": comparison.same,
        "old": asdict(comparison.old),
        "new": asdict(comparison.new),
        "notes": list(comparison.notes),
        "removed_bodies": list(comparison.removed_bodies),
        "added_bodies": list(comparison.added_bodies),
        "bodies": [_body(each) for each in comparison.bodies],
        "cautions": list(CAUTIONS),
    }


def _body(body: BodyComparison) -> dict[str, Any]:
    values: dict[str, Any] = _rounded(asdict(body))
    return values


def _rounded(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _rounded(each) for key, each in value.items()}
    if isinstance(value, list | tuple):
        return [_rounded(each) for each in value]
    return number(value) if isinstance(value, float) else value
