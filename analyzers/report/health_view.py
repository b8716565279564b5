"""The diagnosis of a model as the page shows it, at its top where something is doubtful."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from markupsafe import Markup

from analyzers.model.arrays import Vec
from analyzers.model.health import Health, Repair
from analyzers.report import german
from analyzers.report.health import REPAIRED
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
class RepairView:
    """One change, made or refused; `label`: what kind of change it is."""

    label: str
    body: str
    sentences: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class HealthView:
    """The diagnosis."""

    heads: tuple[str, ...]  # what is said first of all; empty = there is nothing to say
    defects: tuple[DefectView, ...]
    doubted: Markup  # names of what cannot be trusted; empty = nothing
    repairs: tuple[RepairView, ...]


def health_view(health: Health) -> HealthView:
    """Return what the page says about the model itself."""
    return HealthView(
        heads=tuple(_heads(health)),
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
        repairs=tuple(
            RepairView(_label(each), each.body or "file", tuple(clean(said, LONG) for said in _said(each)))
            for each in health.repairs
        ),
    )


def _heads(health: Health) -> Iterator[str]:
    if health.repaired:
        yield REPAIRED
    if health.verdict == "doubtful":
        yield "Doubtful geometry: not all numbers below can be trusted."
    elif health.repairs and not health.repaired:
        yield "The model is not measured quite as it was sent."


def _label(repair: Repair) -> str:
    if not repair.made:
        return "Repair refused"
    return "Repaired as asked" if repair.asked else "Changed before measuring"


def _said(repair: Repair) -> Iterator[str]:
    """Yield a repair with by how much it changed the model."""
    yield from repair.what.split("; ")
    if repair.refused is not None:
        yield repair.refused
    if repair.volume_after_mm3 is not None:
        before = "none" if repair.volume_before_mm3 is None else f"{repair.volume_before_mm3:.6g} mm³"
        yield f"volume before: {before}, after: {repair.volume_after_mm3:.6g} mm³"
    if repair.area_before_mm2 is not None and repair.area_after_mm2 is not None:
        yield f"area before: {repair.area_before_mm2:.6g} mm², after: {repair.area_after_mm2:.6g} mm²"
    if repair.faces_before is not None:
        yield f"faces before: {repair.faces_before}, after: {repair.faces_after}"
        yield f"edges before: {repair.edges_before}, after: {repair.edges_after}"
    if repair.tolerance_mm is not None:
        yield f"gaps up to {repair.tolerance_mm:g} mm were closed"
    if repair.largest_deviation_mm is not None:
        yield f"largest deviation: {repair.largest_deviation_mm:.2g} mm"
    if repair.deviation_measured is not None:
        yield repair.deviation_measured
