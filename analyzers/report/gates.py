"""Which findings fail the gate, as far as the formats for build servers need to know."""

from collections.abc import Callable, Mapping
from typing import Any

Fails = Callable[[Mapping[str, Any]], bool]
"""Gets one finding of a document and says whether it fails the gate."""


def fails_on_error(finding: Mapping[str, Any]) -> bool:
    """Return True for findings of level error: what fails where no policy says otherwise."""
    return bool(finding["level"] == "error")
