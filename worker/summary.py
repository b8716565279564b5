"""What lists show of a report, so that no list has to read reports."""

from collections.abc import Iterator
from typing import Any


def summary(document: dict[str, Any]) -> dict[str, Any]:
    """Return what lists show of a report: the hardest body's triage and what is counted over all bodies."""
    bodies = document["bodies"]
    about = {"bodies": len(bodies), "product": document["source"]["product_name"]}
    if not bodies:
        return about
    hardest = max(bodies, key=lambda body: body["triage"]["difficulty"])
    levels = [finding["level"] for body in bodies for finding in body["findings"]]
    return {
        **about,
        "material": document["settings"]["material"],
        "bucket": hardest["triage"]["bucket"],
        "difficulty": hardest["triage"]["difficulty"],
        "why": hardest["triage"]["summary"],
        "size_mm": hardest["size_mm"],
        "minutes": sum((body["triage"]["machining_minutes"]["likely"] or 0.0) * body["count"] for body in bodies),
        "setups": max(len(body["setups"]) for body in bodies),
        "errors": levels.count("error"),
        "warnings": levels.count("warning"),
        "questions": sum(len(body["questions"]) for body in bodies),
        "min_internal_radius_mm": _least(body["measures"]["min_internal_radius_mm"] for body in bodies),
        "min_wall_mm": _least(body["measures"]["min_wall_mm"] for body in bodies),
    }


def _least(values: Iterator[float | None]) -> float | None:
    return min((each for each in values if each is not None), default=None)
