"""The report as the document that other programs read; names and units are promised to the outside."""

import math
from dataclasses import asdict, replace
from typing import Any, Final

import numpy as np

from analyzers.data.hole_sizes import Use
from analyzers.data.note_grades import grade_asked
from analyzers.features.hole import Hole
from analyzers.model.arrays import Vec
from analyzers.model.feature import Feature
from analyzers.model.finding import Change, Finding
from analyzers.model.measure import Measure
from analyzers.model.part import Part, Surface
from analyzers.model.plan import Minutes
from analyzers.model.report import Body, Facts, Report
from analyzers.model.source import Source
from analyzers.model.tolerance_note import ToleranceNote
from analyzers.plan import drawn_in
from analyzers.report.cautions import CAUTIONS
from analyzers.report.fits import uses
from analyzers.report.health import health_document
from analyzers.report.notes import said_about, why_none
from analyzers.signature import signature_of
from analyzers.units import UnitSystem
from analyzers.what_if import PARAMETERS

SCHEMA_VERSION: Final = "1.2"

MEASURES: Final = (
    "min_internal_radius_mm",
    "max_hole_depth_ratio",
    "max_pocket_depth_ratio",
    "min_wall_mm",
    "min_floor_mm",
    "min_gap_mm",
    "min_web_mm",
    "sharp_internal_corners",
    "external_sharp_edge_length_mm",
)
"""Measures that every document names, whether they could be taken or not."""

_DECIMALS: Final = 6
_COUNTS: Final = {"sharp_internal_corners"}


def to_json(report: Report) -> dict[str, Any]:
    """Return the whole report as plain dicts, lists, strings, numbers and None; no NaN or infinity.

    Lengths are millimetres, angles degrees; a field's unit is the end of its name. Numbers are rounded to 1e-6,
    measured ones never to 0.
    """
    return {
        "schema_version": SCHEMA_VERSION,
        "status": report.status,
        "problems": [asdict(problem) for problem in report.problems],
        "source": asdict(report.source),
        "settings": asdict(report.settings),
        "timings_s": {stage: number(seconds) for stage, seconds in report.timings_s.items()},
        "cautions": list(CAUTIONS),
        "health": health_document(report.health),
        "bodies": [_body(body, report.source) for body in report.bodies],
    }


def number(value: float | None) -> float | int | None:
    """Return a number rounded to 1e-6, a tiny one to three figures instead of to 0; None for NaN and infinity.

    Examples
    --------
    >>> number(2.50000000001), number(1.23456e-9), number(float("nan"))
    (2.5, 1.23e-09, None)
    """
    if value is None or isinstance(value, int):
        return value
    if not math.isfinite(value):
        return None
    rounded = round(float(value), _DECIMALS)
    return rounded if rounded or not value else float(f"{value:.3g}")


def _coordinates(vector: Vec | None) -> list[float | None] | None:
    """Return x, y, z rounded to 1e-6; what is left of a rounding error becomes 0."""
    if vector is None:
        return None
    return [round(float(each), _DECIMALS) + 0.0 if math.isfinite(each) else None for each in vector]


def _plain(value: Any) -> Any:
    """Return a feature's own field (number, text, tuple, nested dict) as JSON can carry it."""
    if isinstance(value, bool | str) or value is None:
        return value
    if isinstance(value, dict):
        return {key: _plain(each) for key, each in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(each) for each in value]
    if hasattr(value, "__dataclass_fields__"):
        return _plain(asdict(value))
    return number(value)


def _body(body: Body, source: Source) -> dict[str, Any]:
    facts, plan, part = body.facts, body.plan, body.facts.part
    units = drawn_in(facts, source.length_unit)
    setup_of = {feature: setup.id for setup in plan.setups for feature in setup.features}
    return {
        "id": body.id,
        "name": part.name,
        "count": part.count,
        "volume_mm3": number(part.volume_mm3) if part.closed else None,
        "area_mm2": number(part.area_mm2),
        "size_mm": [number(each) for each in part.size_mm],
        "centroid_mm": _coordinates(part.centroid_mm),
        "valid": part.valid,
        "closed": part.closed,
        "signature": _signature(part),
        "drawn_in": units,
        "made_by": {**asdict(facts.made_by), "axis": _coordinates(facts.made_by.axis)},
        "faces": _faces(body),
        "features": [_feature(facts, each, setup_of.get(each.id), units) for each in facts.features],
        "tolerances": [_note(facts, each) for each in facts.tolerances],
        "patterns": [
            {
                "kind": each.kind,
                "features": list(each.features),
                "missing": [_coordinates(place) for place in each.missing],
                "gaps": [asdict(gap) for gap in each.gaps],
            }
            for each in facts.patterns
        ],
        "measures": _measures(facts.measures),
        "walls": [
            {
                "thickness_mm": number(each.thickness_mm),
                "point_mm": _coordinates(each.point_mm),
                "faces": list(each.faces),
                "area_mm2": number(each.area_mm2),
                "kind": each.kind,
                "height_mm": number(each.height_mm),
                "height_ratio": number(each.height_mm / each.thickness_mm) if each.height_mm else None,
                "exact": each.exact,
            }
            for each in facts.walls
        ],
        **_plan(body),
        "findings": [_finding(each) for each in body.findings],
        "questions": list(body.questions),
        "triage": _triage(body),
    }


def _finding(finding: Finding) -> dict[str, Any]:
    document: dict[str, Any] = _plain(asdict(replace(finding, change=None, alternatives=())))
    document["change"] = None if finding.change is None else _change(finding.change)
    document["alternatives"] = [_change(each) for each in finding.alternatives]
    return document


def _change(change: Change) -> dict[str, Any]:
    """Return a change of the model; what it does is null where it is only proposed, not tried."""
    parameter, outcome = PARAMETERS[change.field], change.outcome
    document: dict[str, Any] = {
        "features": list(change.features),
        "parameter": change.field,
        "unit": parameter.unit,
        "from": _plain(change.was),
        "to": _plain(change.value),
        "clears": None if outcome is None else True,
    }
    if outcome is None:
        return document
    return document | {
        "leaves": outcome.leaves,
        "raises": list(outcome.raises),
        "minutes_saved": number(outcome.minutes_saved),
        "setup_minutes_saved": number(outcome.setup_minutes_saved),
        "setups_saved": outcome.setups_saved,
        "cutters": {"spared": list(outcome.cutters_spared), "added": list(outcome.cutters_added)},
        "made": list(outcome.made),
    }


def _signature(part: Part) -> dict[str, Any]:
    """Return the numbers that find the same part again, wherever it lies and whoever wrote the file."""
    found = signature_of(part)
    return {
        "numbers": [number(each) for each in found.numbers.tolist()],
        "hand": [number(each) for each in found.hand.tolist()],
    }


def _faces(body: Body) -> list[dict[str, Any]]:
    part = body.facts.part
    owner: dict[int, str] = {face: each.id for each in body.facts.features for face in each.faces}
    centroids = np.round(part.face_centroid_mm, _DECIMALS) + 0.0
    return [
        {
            "index": face,
            "surface": Surface(int(part.face_surface[face])).name.lower(),
            "area_mm2": number(float(part.face_area_mm2[face])),
            "centroid_mm": [each if math.isfinite(each) else None for each in centroids[face].tolist()],
            "class": body.facts.face_class[face],
            "feature": owner.get(face),
        }
        for face in range(part.n_faces)
    ]


def _feature(facts: Facts, feature: Feature, setup: str | None, units: UnitSystem) -> dict[str, Any]:
    said = said_about(facts, feature)
    return {
        "id": feature.id,
        "kind": feature.kind,
        "faces": list(feature.faces),
        "direction": _coordinates(feature.direction),
        "position_mm": _coordinates(feature.position_mm),
        "setup": setup,
        "callout": feature.callout(),
        "fingerprint": feature.fingerprint,
        "why": feature.why,
        **_plain(feature.dimensions()),
        "tolerance_mm": number(said.width_mm),
        **({"tolerance_none_because": why_none(facts)} if said.width_mm is None else {}),
        "it_grade": said.grade,
        "thread": said.thread,
        "notes": [each.id for each in said.notes if each.id],
        **({"uses": [_use(each) for each in uses(feature, units, said.notes)]} if isinstance(feature, Hole) else {}),
    }


def _use(use: Use) -> dict[str, Any]:
    """Return one thing that a hole may be for; `verified` False: its size was read in no source."""
    return {
        "use": use.use,
        "text": use.text,
        "standard": use.standard,
        "fastener": use.fastener,
        "diameter_mm": number(use.diameter_mm),
        "off_mm": number(use.off_mm),
        "verified": use.prov != "memory",
    }


def _note(facts: Facts, note: ToleranceNote) -> dict[str, Any]:
    """Return one annotation of the file with the features that it points at and the ISO 286 grade that it asks for."""
    document: dict[str, Any] = _plain(asdict(note))
    features = [each.id for each in facts.features if note in facts.notes_of(each)]
    return {**document, "callout": note.callout(), "features": features, "it_grade": grade_asked(note)}


def _measures(measures: tuple[Measure, ...]) -> dict[str, Any]:
    """Return every promised measure and any further one: its number and place, or null and the reason."""
    taken = {each.name: each for each in measures}
    document: dict[str, Any] = {}
    for name in (*MEASURES, *sorted(taken.keys() - set(MEASURES))):
        measure = taken.get(name)
        if measure is None or measure.value is None:
            reason = "could not be measured: see problems" if measure is None else measure.why_none
            document |= {name: None, f"{name}_none_because": reason}
            document[f"{name}_applies"] = measure is None or measure.applies
            continue
        value = number(measure.value)
        document[name] = int(measure.value) if name in _COUNTS else value
        document[f"{name}_at"] = {
            "point_mm": _coordinates(measure.point_mm),
            "faces": list(measure.faces),
            "feature": measure.feature,
        }
    return document


def _plan(body: Body) -> dict[str, Any]:
    plan = body.plan
    return {
        "setups": [
            {
                "id": each.id,
                "direction": _coordinates(each.direction),
                "features": list(each.features),
                "why": each.why,
                "vise_faces": list(each.vise_faces),
                "grip_width_mm": number(each.grip_width_mm),
                "grip_height_mm": number(each.grip_height_mm),
                "grip_off_parallel_deg": number(each.grip_off_parallel_deg),
                "machine": each.machine,
                "held_by": each.held_by,
                "held_why": each.held_why,
                "indexed": [_coordinates(direction) for direction in each.indexed],
                "indexing": each.indexing,
                "tall_ratio": number(each.tall_ratio),
            }
            for each in plan.setups
        ],
        "tools": [
            {
                "cutter": each.cutter,
                "features": list(each.features),
                "setup": each.setup,
                "minutes": number(each.minutes),
                "stick_out_mm": number(each.stick_out_mm),
                "holder": each.holder,
            }
            for each in plan.tools
        ],
        "unmade": [asdict(each) for each in plan.unmade],
        "plan": {
            "machine": plan.machine,
            "stock_form": plan.stock_form,
            "stock_mm": [number(each) for each in plan.stock_mm],
            "stock_why": plan.stock_why,
            "removed_mm3": number(plan.removed_mm3),
            "setup_minutes": number(plan.setup_minutes),
            "time_shares": [{"name": each.name, "minutes": number(each.minutes)} for each in plan.time_shares],
            "unreached_faces": list(plan.unreached_faces),
            "undercut_faces": list(plan.undercut_faces),
            "access": [{"direction": _coordinates(each.direction), "faces": list(each.faces)} for each in plan.access],
            "entries": [_plain(asdict(each)) for each in plan.entries],
            "uncut": [_plain(asdict(each)) for each in plan.uncut],
            "rooms": [
                {"machine": each.machine, "takes": each.takes, "spare_mm": _coordinates(each.spare_mm)}
                for each in plan.rooms
            ],
            "box_mm": None if plan.box_mm is None else [number(each) for each in plan.box_mm],
            "box_axes": None if plan.box_axes is None else [_coordinates(each) for each in plan.box_axes],
            "assumptions": list(plan.assumptions),
        },
    }


def _minutes(minutes: Minutes) -> dict[str, Any]:
    return {"low": number(minutes.low), "likely": number(minutes.likely), "high": number(minutes.high)}


def _triage(body: Body) -> dict[str, Any]:
    triage = body.triage
    return {
        "difficulty": number(triage.difficulty),
        "bucket": triage.bucket,
        "summary": triage.summary,
        "drivers": [{"name": each.name, "points": number(each.points), "why": each.why} for each in triage.drivers],
        "machining_minutes": _minutes(triage.machining_minutes),
    }
