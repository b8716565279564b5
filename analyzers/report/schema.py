"""JSON Schema (draft 2020-12) of the report document.

Everything named here is promised; a later 1.x may add fields, so unknown fields are allowed everywhere.
"""

import json
from typing import Final

from analyzers.model.health import KINDS
from analyzers.report.as_json import MEASURES
from analyzers.report.schema_features import feature_schema, note_schema
from analyzers.report.schema_words import (
    BOOLEAN,
    COUNT,
    COUNT_OR_NULL,
    FACES,
    LENGTH,
    LENGTH_OR_NULL,
    NUMBER,
    NUMBER_OR_NULL,
    TEXT,
    TEXT_OR_NULL,
    TEXTS,
    VECTOR,
    VECTOR_OR_NULL,
    Schema,
    choice,
    many,
    record,
)
from analyzers.what_if import PARAMETERS

SURFACES: Final = ("plane", "cylinder", "cone", "sphere", "torus", "revolution", "extrusion", "bspline", "other")
FACE_CLASSES: Final = (
    "hole",
    "pocket",
    "slot",
    "step",
    "boss",
    "groove",
    "fillet",
    "edge_round",
    "chamfer",
    "outer",
    "freeform",
)


def _measures() -> Schema:
    """Return the measures: a number with its place, or null with the reason why there is none."""
    place = record({"point_mm": VECTOR_OR_NULL, "faces": FACES, "feature": TEXT_OR_NULL})
    properties: Schema = {}
    rules: list[Schema] = []
    for name in MEASURES:
        properties |= {name: LENGTH_OR_NULL, f"{name}_at": place, f"{name}_none_because": {**TEXT, "minLength": 1}}
        properties[f"{name}_applies"] = BOOLEAN
        rules.append(
            {
                "if": {"properties": {name: {"type": "null"}}},
                "then": {"required": [f"{name}_none_because", f"{name}_applies"]},
                "else": {"required": [f"{name}_at"]},
            }
        )
    return {"type": "object", "properties": properties, "required": list(MEASURES), "allOf": rules}


def _findings() -> Schema:
    return record(
        {
            "rule": {**TEXT, "minLength": 1},
            "level": choice("error", "warning", "note"),
            "feature": TEXT_OR_NULL,
            "faces": FACES,
            "measured": NUMBER_OR_NULL,
            "limit": NUMBER_OR_NULL,
            "unit": TEXT,
            "message": {**TEXT, "minLength": 1},
            "suggestion": TEXT,
            "effect": TEXT,
            "basis": TEXT,
            "fingerprint": TEXT,
            "change": {"anyOf": [{"type": "null"}, _change()]},
            "alternatives": many(_change()),
            "change_none_because": TEXT,
        }
    )


def _change() -> Schema:
    """Return a change of the model; what it does only where it was tried."""
    value = {"type": ["number", "string", "null"]}
    document = record(
        {
            "features": TEXTS,
            "parameter": choice(*PARAMETERS),
            "unit": choice("mm", "deg", "count", "ratio", "text"),
            "from": value,
            "to": {"type": ["number", "string"]},
            "clears": {"type": ["boolean", "null"]},
        }
    )
    tried: Schema = {
        "leaves": {"enum": [None, "warning", "note"]},
        "raises": TEXTS,
        "minutes_saved": NUMBER,
        "setup_minutes_saved": NUMBER,
        "setups_saved": {"type": "integer"},
        "cutters": record({"spared": TEXTS, "added": TEXTS}),
        "made": TEXTS,
    }
    document["properties"] |= tried
    document["if"] = {"properties": {"clears": {"type": "boolean"}}}
    document["then"] = {"required": list(tried)}
    return document


def _triage() -> Schema:
    return record(
        {
            "difficulty": {"type": "number", "minimum": 0, "maximum": 100},
            "bucket": choice("routine", "involved", "demanding", "not_as_modelled"),
            "summary": TEXT,
            "drivers": many(record({"name": TEXT, "points": NUMBER, "why": TEXT})),
            "machining_minutes": record({"low": LENGTH, "likely": LENGTH, "high": LENGTH}),
        }
    )


def _plan() -> Schema:
    share = record({"name": TEXT, "minutes": LENGTH})
    entry = {
        "feature": TEXT,
        "setup": TEXT,
        "enters_mm": LENGTH,
        "finishes_mm": LENGTH,
        "resolution_mm": LENGTH,
    }
    uncut = {
        "feature": TEXT,
        "setup": TEXT,
        "cutter": TEXT_OR_NULL,
        "area_mm2": LENGTH,
        "volume_mm3": LENGTH,
        "faces": FACES,
        "resolution_mm": LENGTH,
    }
    return record(
        {
            "machine": TEXT_OR_NULL,
            "stock_form": choice("plate", "flat_bar", "round_bar", "block"),
            "stock_mm": {"type": "array", "items": LENGTH, "minItems": 3, "maxItems": 3},
            "removed_mm3": NUMBER_OR_NULL,
            "setup_minutes": LENGTH,
            "time_shares": many(share),
            "unreached_faces": FACES,
            "undercut_faces": FACES,
            "access": many(record({"direction": VECTOR, "faces": FACES})),
            "entries": many(record(entry)),
            "uncut": many(record(uncut)),
            "rooms": many(record({"machine": TEXT, "takes": BOOLEAN, "spare_mm": VECTOR})),
            "box_mm": VECTOR_OR_NULL,
            "box_axes": {"anyOf": [{**many(VECTOR), "minItems": 3, "maxItems": 3}, {"type": "null"}]},
            "assumptions": TEXTS,
        }
    )


def _body() -> Schema:
    face = record(
        {
            "index": COUNT,
            "surface": choice(*SURFACES),
            "area_mm2": LENGTH_OR_NULL,
            "centroid_mm": {"type": "array", "items": NUMBER_OR_NULL, "minItems": 3, "maxItems": 3},
            "class": choice(*FACE_CLASSES),
            "feature": TEXT_OR_NULL,
        }
    )
    setup = {
        "id": TEXT,
        "direction": VECTOR,
        "features": TEXTS,
        "why": TEXT,
        "grip_width_mm": LENGTH_OR_NULL,
        "grip_height_mm": LENGTH_OR_NULL,
        "grip_off_parallel_deg": LENGTH_OR_NULL,
        "indexing": choice("none", "3+1", "3+2", "tilted"),
        "tall_ratio": LENGTH_OR_NULL,
    }
    wall = {
        "thickness_mm": LENGTH,
        "point_mm": VECTOR,
        "faces": FACES,
        "area_mm2": LENGTH,
        "height_mm": LENGTH_OR_NULL,
        "height_ratio": LENGTH_OR_NULL,
        "exact": BOOLEAN,
    }
    tool = {
        "cutter": TEXT,
        "features": TEXTS,
        "setup": TEXT,
        "stick_out_mm": LENGTH_OR_NULL,
        "holder": TEXT_OR_NULL,
    }
    pattern = {
        "kind": choice("rectangular", "circular", "mirror", "general"),
        "features": TEXTS,
        "missing": many(VECTOR),
        "gaps": many(record({"like": TEXT, "expected": TEXT, "instead": TEXT_OR_NULL, "found": TEXT})),
    }
    return record(
        {
            "id": TEXT,
            "name": TEXT,
            "count": {"type": "integer", "minimum": 1},
            "volume_mm3": NUMBER_OR_NULL,
            "area_mm2": LENGTH_OR_NULL,
            "size_mm": {"type": "array", "items": LENGTH, "minItems": 3, "maxItems": 3},
            "centroid_mm": VECTOR,
            "valid": BOOLEAN,
            "signature": record(
                {"numbers": many(NUMBER), "hand": {"type": "array", "items": NUMBER, "minItems": 2, "maxItems": 2}}
            ),
            "faces": many(face),
            "features": many(feature_schema()),
            "patterns": many(record(pattern, ("gaps",))),
            "measures": _measures(),
            "walls": many(record(wall)),
            "setups": many(record(setup)),
            "tools": many(record(tool)),
            "unmade": many(record({"feature": TEXT, "why": TEXT})),
            "plan": _plan(),
            "findings": many(_findings()),
            "questions": TEXTS,
            "triage": _triage(),
            "tolerances": many(note_schema()),
            "drawn_in": choice("mm", "inch"),
        },
        ("tolerances", "drawn_in"),
    )


def _health() -> Schema:
    """Return the diagnosis of the model; documents before 1.1 have none."""
    place = record({"point_mm": {"type": "array", "items": NUMBER, "minItems": 3, "maxItems": 3}, "faces": FACES})
    defect = {
        "code": choice(*KINDS),
        "title": TEXT,
        "iso_10303_59": TEXT_OR_NULL,
        "level": choice("note", "doubt"),
        "body": TEXT_OR_NULL,
        "message": {**TEXT, "minLength": 1},
        "count": {"type": "integer", "minimum": 1},
        "places": many(place),
        "doubted": TEXTS,
    }
    repair = {
        "what": TEXT,
        "body": TEXT_OR_NULL,
        "volume_before_mm3": NUMBER_OR_NULL,
        "volume_after_mm3": NUMBER_OR_NULL,
        "largest_deviation_mm": LENGTH_OR_NULL,
    }
    since_1_2 = {
        "asked": {"type": "boolean"},
        "refused": TEXT_OR_NULL,
        "area_before_mm2": NUMBER_OR_NULL,
        "area_after_mm2": NUMBER_OR_NULL,
        "faces_before": COUNT_OR_NULL,
        "faces_after": COUNT_OR_NULL,
        "edges_before": COUNT_OR_NULL,
        "edges_after": COUNT_OR_NULL,
        "tolerance_mm": LENGTH_OR_NULL,
        "deviation_measured": TEXT_OR_NULL,
        "doubted": TEXTS,
    }
    return record(
        {
            "verdict": choice("sound", "doubtful", "unusable"),
            "contents": choice("solid", "solids", "assembly", "surfaces", "mesh", "wireframe", "nothing"),
            "headline": TEXT_OR_NULL,
            "doubted": TEXTS,
            "defects": many(record(defect)),
            "repairs": many(record(repair | since_1_2, tuple(since_1_2))),
            "repaired": {"type": "boolean"},
        },
        ("repaired",),
    )


def _report() -> Schema:
    source = {
        "file_name": TEXT,
        "sha256": TEXT,
        "size_bytes": COUNT,
        "step_schema": TEXT_OR_NULL,
        "length_unit": TEXT_OR_NULL,
        "originating_system": TEXT_OR_NULL,
        "product_name": TEXT_OR_NULL,
        "time_stamp": TEXT_OR_NULL,
    }
    settings = {
        "shop": TEXT,
        "policy": TEXT,
        "material": TEXT,
        "quantity": {"type": "integer", "minimum": 1},
        "digest": TEXT,
        "repair": {"type": "boolean"},
    }
    problem = record({"stage": TEXT, "message": {**TEXT, "minLength": 1}, "body": TEXT_OR_NULL})
    return record(
        {
            "schema_version": {"type": "string", "pattern": r"^1\.\d+$"},
            "status": choice("complete", "partial", "unreadable"),
            "problems": many(problem),
            "source": record(source),
            "settings": record(settings, ("repair",)),
            "timings_s": {"type": "object", "additionalProperties": LENGTH},
            "cautions": {**TEXTS, "minItems": 1},
            "health": _health(),
            "bodies": many(_body()),
        },
        ("health",),
    )


SCHEMA: Final[Schema] = {
    "$schema": "https://json-schema.org/draft/2020-12/schema",
    "title": "partsieve report",
    "description": "One STEP file: features, measures, plan, findings and triage of each body. mm, degrees, mm2, mm3.",
    **_report(),
    "allOf": [
        {
            "if": {"properties": {"status": {"enum": ["partial", "unreadable"]}}},
            "then": {"properties": {"problems": {"minItems": 1}}},
        },
        {
            "if": {"properties": {"status": {"const": "unreadable"}}},
            "then": {"properties": {"bodies": {"maxItems": 0}}},
        },
    ],
}


def schema_text() -> str:
    """Return the schema as a JSON text, indented."""
    return json.dumps(SCHEMA, indent=2, ensure_ascii=False) + "\n"
