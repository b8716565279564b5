"""JSON Schema (draft 2020-12) of the report document.

Everything named here is promised; a later 1.x may add fields, so unknown fields are allowed everywhere.
"""

import json
from typing import Any, Final

from analyzers.report.as_json import MEASURES
from analyzers.what_if import PARAMETERS

Schema = dict[str, Any]

_TEXT: Final[Schema] = {"type": "string"}
_TEXT_OR_NULL: Final[Schema] = {"type": ["string", "null"]}
_BOOLEAN: Final[Schema] = {"type": "boolean"}
_NUMBER: Final[Schema] = {"type": "number"}
_NUMBER_OR_NULL: Final[Schema] = {"type": ["number", "null"]}
_LENGTH: Final[Schema] = {"type": "number", "minimum": 0}
_LENGTH_OR_NULL: Final[Schema] = {"type": ["number", "null"], "minimum": 0}
_POSITIVE: Final[Schema] = {"type": "number", "exclusiveMinimum": 0}
_COUNT: Final[Schema] = {"type": "integer", "minimum": 0}
_VECTOR: Final[Schema] = {"type": "array", "items": _NUMBER, "minItems": 3, "maxItems": 3}
_VECTOR_OR_NULL: Final[Schema] = {"anyOf": [_VECTOR, {"type": "null"}]}
_FACES: Final[Schema] = {"type": "array", "items": _COUNT, "uniqueItems": True}
_TEXTS: Final[Schema] = {"type": "array", "items": _TEXT}

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


def _choice(*words: str) -> Schema:
    return {"enum": list(words)}


def _object(fields: Schema, optional: tuple[str, ...] = ()) -> Schema:
    """Return an object in which every field but the optional ones must be present."""
    return {"type": "object", "properties": fields, "required": [each for each in fields if each not in optional]}


def _list(items: Schema) -> Schema:
    return {"type": "array", "items": items}


_HOLE: Final[Schema] = {
    "diameter_mm": _POSITIVE,
    "depth_mm": _LENGTH_OR_NULL,
    "through": _BOOLEAN,
    "bottom": _choice("through", "flat", "conical", "spherical", "into_void"),
    "point_angle_deg": _NUMBER_OR_NULL,
    "depth_ratio": _LENGTH_OR_NULL,
    "entry": _choice("flat", "inclined", "curved"),
    "entry_angle_deg": _NUMBER,
    "floor_thickness_mm": _LENGTH_OR_NULL,
}
_POCKET: Final[Schema] = {
    "depth_mm": _LENGTH_OR_NULL,
    "length_mm": _LENGTH_OR_NULL,
    "width_mm": _LENGTH_OR_NULL,
    "through": _BOOLEAN,
    "corner_radius_mm": _LENGTH_OR_NULL,
    "floor_radius_mm": _LENGTH_OR_NULL,
    "floor_thickness_mm": _LENGTH_OR_NULL,
    "islands": _COUNT,
    "passage_mm": _LENGTH_OR_NULL,
    "depth_ratio": _LENGTH_OR_NULL,
}
_ROUND: Final[Schema] = {"radius_mm": _LENGTH_OR_NULL, "variable": _BOOLEAN}
_SEGMENT: Final[Schema] = _object(
    {"shape": _choice("cylinder", "cone"), "diameter_mm": _LENGTH, "depth_mm": _LENGTH, "end_diameter_mm": _LENGTH}
)

KINDS: Final[dict[str, Schema]] = {
    "round_hole": _HOLE,
    "counterbore_hole": {**_HOLE, "counterbore_diameter_mm": _POSITIVE, "counterbore_depth_mm": _LENGTH},
    "countersunk_hole": {**_HOLE, "countersink_diameter_mm": _POSITIVE, "countersink_angle_deg": _POSITIVE},
    "stepped_hole": {**_HOLE, "segments": {**_list(_SEGMENT), "minItems": 1}},
    "closed_pocket": _POCKET,
    "open_pocket": _POCKET,
    "slot": {
        "width_mm": _LENGTH_OR_NULL,
        "depth_mm": _LENGTH_OR_NULL,
        "length_mm": _LENGTH_OR_NULL,
        "through": _BOOLEAN,
        "ends": _choice("open", "round", "flat"),
    },
    "step": {"depth_mm": _LENGTH_OR_NULL, "width_mm": _LENGTH_OR_NULL, "through": _BOOLEAN},
    "boss": {"height_mm": _LENGTH, "length_mm": _LENGTH, "width_mm": _LENGTH, "diameter_mm": _LENGTH_OR_NULL},
    "groove": {
        "width_mm": _LENGTH,
        "depth_mm": _LENGTH,
        "diameter_mm": _LENGTH,
        "side": _choice("outer", "inner", "face"),
    },
    "fillet": _ROUND,
    "edge_round": _ROUND,
    "chamfer": {"width_mm": _LENGTH, "angle_deg": _NUMBER},
    "outer_round": {"diameter_mm": _POSITIVE, "length_mm": _LENGTH},
    "region": {"area_mm2": _LENGTH, "min_concave_radius_mm": _LENGTH_OR_NULL},
}
"""The own fields of each kind of feature."""


_USE: Final[Schema] = _object(
    {
        "use": _TEXT,
        "text": _TEXT,
        "standard": _TEXT,
        "fastener": _TEXT,
        "diameter_mm": _POSITIVE,
        "off_mm": _NUMBER,
        "verified": _BOOLEAN,
    }
)


def _feature() -> Schema:
    shared = _object(
        {
            "id": _TEXT,
            "kind": _choice(*KINDS),
            "faces": _FACES,
            "direction": _VECTOR,
            "position_mm": _VECTOR,
            "setup": _TEXT_OR_NULL,
            "callout": _TEXT,
            "fingerprint": _TEXT,
            "why": _TEXT,
            "tolerance_mm": _LENGTH_OR_NULL,
            "tolerance_none_because": {**_TEXT, "minLength": 1},
            "it_grade": {"type": ["integer", "null"]},
            "thread": _TEXT_OR_NULL,
            "notes": _TEXTS,
            "uses": _list(_USE),  # of holes: what it is probably for, the most plausible first
        },
        ("tolerance_mm", "tolerance_none_because", "it_grade", "thread", "notes", "uses"),
    )
    own = [
        {
            "if": {"properties": {"kind": {"const": kind}}, "required": ["kind"]},
            "then": _object(fields),
        }
        for kind, fields in KINDS.items()
    ]
    return {**shared, "allOf": own}


def _note() -> Schema:
    """Return what the file itself says about faces: a size, a tolerance, a datum or a thread."""
    numbers = ("nominal_mm", "upper_mm", "lower_mm", "nominal_deg", "upper_deg", "lower_deg", "pitch_mm")
    return _object(
        {
            "id": _TEXT,
            "kind": _TEXT,
            "callout": _TEXT,
            **dict.fromkeys(numbers, _NUMBER_OR_NULL),
            "zone_mm": _LENGTH_OR_NULL,
            "it_grade": {"type": ["integer", "null"]},
            "fit": _TEXT,
            "use": _choice("toleranced", "theoretical", "auxiliary"),
            "round_zone": _BOOLEAN,
            "datums": _TEXTS,
            "modifiers": _TEXTS,
            "thread": _TEXT,
            "faces": _FACES,
            "features": _TEXTS,
            "written": _TEXT,
            "why_none": _TEXT_OR_NULL,
        }
    )


def _measures() -> Schema:
    """Return the measures: a number with its place, or null with the reason why there is none."""
    place = _object({"point_mm": _VECTOR_OR_NULL, "faces": _FACES, "feature": _TEXT_OR_NULL})
    properties: Schema = {}
    rules: list[Schema] = []
    for name in MEASURES:
        properties |= {name: _LENGTH_OR_NULL, f"{name}_at": place, f"{name}_none_because": {**_TEXT, "minLength": 1}}
        properties[f"{name}_applies"] = _BOOLEAN
        rules.append(
            {
                "if": {"properties": {name: {"type": "null"}}},
                "then": {"required": [f"{name}_none_because", f"{name}_applies"]},
                "else": {"required": [f"{name}_at"]},
            }
        )
    return {"type": "object", "properties": properties, "required": list(MEASURES), "allOf": rules}


def _findings() -> Schema:
    return _object(
        {
            "rule": {**_TEXT, "minLength": 1},
            "level": _choice("error", "warning", "note"),
            "feature": _TEXT_OR_NULL,
            "faces": _FACES,
            "measured": _NUMBER_OR_NULL,
            "limit": _NUMBER_OR_NULL,
            "unit": _TEXT,
            "message": {**_TEXT, "minLength": 1},
            "suggestion": _TEXT,
            "effect": _TEXT,
            "basis": _TEXT,
            "fingerprint": _TEXT,
            "change": {"anyOf": [{"type": "null"}, _change()]},
            "alternatives": _list(_change()),
            "change_none_because": _TEXT,
        }
    )


def _change() -> Schema:
    """Return a change of the model; what it does only where it was tried."""
    value = {"type": ["number", "string", "null"]}
    document = _object(
        {
            "features": _TEXTS,
            "parameter": _choice(*PARAMETERS),
            "unit": _choice("mm", "deg", "count", "ratio", "text"),
            "from": value,
            "to": {"type": ["number", "string"]},
            "clears": {"type": ["boolean", "null"]},
        }
    )
    tried: Schema = {
        "leaves": {"enum": [None, "warning", "note"]},
        "raises": _TEXTS,
        "minutes_saved": _NUMBER,
        "setup_minutes_saved": _NUMBER,
        "setups_saved": {"type": "integer"},
        "cutters": _object({"spared": _TEXTS, "added": _TEXTS}),
        "made": _TEXTS,
    }
    document["properties"] |= tried
    document["if"] = {"properties": {"clears": {"type": "boolean"}}}
    document["then"] = {"required": list(tried)}
    return document


def _triage() -> Schema:
    return _object(
        {
            "difficulty": {"type": "number", "minimum": 0, "maximum": 100},
            "bucket": _choice("routine", "involved", "demanding", "not_as_modelled"),
            "summary": _TEXT,
            "drivers": _list(_object({"name": _TEXT, "points": _NUMBER, "why": _TEXT})),
            "machining_minutes": _object({"low": _LENGTH, "likely": _LENGTH, "high": _LENGTH}),
        }
    )


def _plan() -> Schema:
    share = _object({"name": _TEXT, "minutes": _LENGTH})
    entry = {
        "feature": _TEXT,
        "setup": _TEXT,
        "enters_mm": _LENGTH,
        "finishes_mm": _LENGTH,
        "resolution_mm": _LENGTH,
    }
    uncut = {
        "feature": _TEXT,
        "setup": _TEXT,
        "cutter": _TEXT_OR_NULL,
        "area_mm2": _LENGTH,
        "volume_mm3": _LENGTH,
        "faces": _FACES,
        "resolution_mm": _LENGTH,
    }
    return _object(
        {
            "machine": _TEXT_OR_NULL,
            "stock_form": _choice("plate", "flat_bar", "round_bar", "block"),
            "stock_mm": {"type": "array", "items": _LENGTH, "minItems": 3, "maxItems": 3},
            "removed_mm3": _NUMBER_OR_NULL,
            "setup_minutes": _LENGTH,
            "time_shares": _list(share),
            "unreached_faces": _FACES,
            "undercut_faces": _FACES,
            "access": _list(_object({"direction": _VECTOR, "faces": _FACES})),
            "entries": _list(_object(entry)),
            "uncut": _list(_object(uncut)),
            "rooms": _list(_object({"machine": _TEXT, "takes": _BOOLEAN, "spare_mm": _VECTOR})),
            "box_mm": _VECTOR_OR_NULL,
            "box_axes": {"anyOf": [{**_list(_VECTOR), "minItems": 3, "maxItems": 3}, {"type": "null"}]},
            "assumptions": _TEXTS,
        }
    )


def _body() -> Schema:
    face = _object(
        {
            "index": _COUNT,
            "surface": _choice(*SURFACES),
            "area_mm2": _LENGTH_OR_NULL,
            "centroid_mm": {"type": "array", "items": _NUMBER_OR_NULL, "minItems": 3, "maxItems": 3},
            "class": _choice(*FACE_CLASSES),
            "feature": _TEXT_OR_NULL,
        }
    )
    setup = {
        "id": _TEXT,
        "direction": _VECTOR,
        "features": _TEXTS,
        "why": _TEXT,
        "grip_width_mm": _LENGTH_OR_NULL,
        "grip_height_mm": _LENGTH_OR_NULL,
        "grip_off_parallel_deg": _LENGTH_OR_NULL,
        "indexing": _choice("none", "3+1", "3+2", "tilted"),
    }
    wall = {
        "thickness_mm": _LENGTH,
        "point_mm": _VECTOR,
        "faces": _FACES,
        "area_mm2": _LENGTH,
        "height_mm": _LENGTH_OR_NULL,
        "height_ratio": _LENGTH_OR_NULL,
        "exact": _BOOLEAN,
    }
    tool = {
        "cutter": _TEXT,
        "features": _TEXTS,
        "setup": _TEXT,
        "stick_out_mm": _LENGTH_OR_NULL,
        "holder": _TEXT_OR_NULL,
    }
    pattern = {
        "kind": _choice("rectangular", "circular", "mirror", "general"),
        "features": _TEXTS,
        "missing": _list(_VECTOR),
        "gaps": _list(_object({"like": _TEXT, "expected": _TEXT, "instead": _TEXT_OR_NULL, "found": _TEXT})),
    }
    return _object(
        {
            "id": _TEXT,
            "name": _TEXT,
            "count": {"type": "integer", "minimum": 1},
            "volume_mm3": _NUMBER_OR_NULL,
            "area_mm2": _LENGTH_OR_NULL,
            "size_mm": {"type": "array", "items": _LENGTH, "minItems": 3, "maxItems": 3},
            "centroid_mm": _VECTOR,
            "valid": _BOOLEAN,
            "signature": _object(
                {"numbers": _list(_NUMBER), "hand": {"type": "array", "items": _NUMBER, "minItems": 2, "maxItems": 2}}
            ),
            "faces": _list(face),
            "features": _list(_feature()),
            "patterns": _list(_object(pattern, ("gaps",))),
            "measures": _measures(),
            "walls": _list(_object(wall)),
            "setups": _list(_object(setup)),
            "tools": _list(_object(tool)),
            "unmade": _list(_object({"feature": _TEXT, "why": _TEXT})),
            "plan": _plan(),
            "findings": _list(_findings()),
            "questions": _TEXTS,
            "triage": _triage(),
            "tolerances": _list(_note()),
            "drawn_in": _choice("mm", "inch"),
        },
        ("tolerances", "drawn_in"),
    )


def _report() -> Schema:
    source = {
        "file_name": _TEXT,
        "sha256": _TEXT,
        "size_bytes": _COUNT,
        "step_schema": _TEXT_OR_NULL,
        "length_unit": _TEXT_OR_NULL,
        "originating_system": _TEXT_OR_NULL,
        "product_name": _TEXT_OR_NULL,
        "time_stamp": _TEXT_OR_NULL,
    }
    settings = {
        "shop": _TEXT,
        "policy": _TEXT,
        "material": _TEXT,
        "quantity": {"type": "integer", "minimum": 1},
        "digest": _TEXT,
    }
    problem = _object({"stage": _TEXT, "message": {**_TEXT, "minLength": 1}, "body": _TEXT_OR_NULL})
    return _object(
        {
            "schema_version": {"type": "string", "pattern": r"^1\.\d+$"},
            "status": _choice("complete", "partial", "unreadable"),
            "problems": _list(problem),
            "source": _object(source),
            "settings": _object(settings),
            "timings_s": {"type": "object", "additionalProperties": _LENGTH},
            "cautions": {**_TEXTS, "minItems": 1},
            "bodies": _list(_body()),
        }
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
