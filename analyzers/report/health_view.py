"""The diagnosis of a model as the page shows it, at its top where something is doubtful."""

from dataclasses import dataclass
from typing import Final

from markupsafe import Markup

from analyzers.model.arrays import Vec
from analyzers.model.health import Health, Repair
from analyzers.report import german
from analyzers.report.text import LONG, clean
from analyzers.report.words import DOUBTED

_PLACES: Final = 4
"""Places shown of one defect."""


@dataclass(frozen=True, slots=True)
class DefectView:
    """One defect; `term`: of ISO 10303-59."""

    title: str
    term: str | None
    message: str
    body: str
    places_mm: tuple[Vec, ...]
    more: bool  # there are further places


@dataclass(frozen=True, slots=True)
class HealthView:
    """The diagnosis."""

    doubtful: bool
    defects: tuple[DefectView, ...]
    doubted: Markup  # names of what cannot be trusted; empty = nothing
    repairs: tuple[str, ...]


def health_view(health: Health) -> HealthView:
    """Return what the page says about the model itself."""
    return HealthView(
        doubtful=health.verdict == "doubtful",
        defects=tuple(
            DefectView(
                title=each.kind.title,
                term=each.kind.term,
                message=clean(each.message, LONG),
                body=each.body or "file",
                places_mm=tuple(place.point_mm for place in each.places[:_PLACES]),
                more=len(each.places) > _PLACES,
            )
            for each in health.defects
        ),
        doubted=german.listed(DOUBTED.get(name, name.replace("_", " ")) for name in health.doubted),
        repairs=tuple(map(_said, health.repairs)),
    )


def _said(repair: Repair) -> str:
    """Return a repair with by how much it changed the model."""
    numbers = []
    if repair.volume_after_mm3 is not None:
        before = "none" if repair.volume_before_mm3 is None else f"{repair.volume_before_mm3:.6g} mm³"
        numbers.append(f"volume before: {before}, after: {repair.volume_after_mm3:.6g} mm³")
    if repair.largest_deviation_mm is not None:
        numbers.append(f"largest deviation: {repair.largest_deviation_mm:.2g} mm")
    return f"{repair.what} ({'; '.join(numbers)})" if numbers else repair.what
