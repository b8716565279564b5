"""JSON Schema of features, of what holes are for, and of the file's own notes."""

from typing import Final

from analyzers.report.schema_words import (
    BOOLEAN,
    COUNT,
    FACES,
    LENGTH,
    LENGTH_OR_NULL,
    NUMBER,
    NUMBER_OR_NULL,
    POSITIVE,
    TEXT,
    TEXT_OR_NULL,
    TEXTS,
    VECTOR,
    Schema,
    choice,
    many,
    record,
)

_HOLE: Final[Schema] = {
    "diameter_mm": POSITIVE,
    "depth_mm": LENGTH_OR_NULL,
    "through": BOOLEAN,
    "bottom": choice("through", "flat", "conical", "spherical", "into_void"),
    "point_angle_deg": NUMBER_OR_NULL,
    "depth_ratio": LENGTH_OR_NULL,
    "entry": choice("flat", "inclined", "curved"),
    "entry_angle_deg": NUMBER,
    "floor_thickness_mm": LENGTH_OR_NULL,
}
_POCKET: Final[Schema] = {
    "depth_mm": LENGTH_OR_NULL,
    "length_mm": LENGTH_OR_NULL,
    "width_mm": LENGTH_OR_NULL,
    "through": BOOLEAN,
    "corner_radius_mm": LENGTH_OR_NULL,
    "floor_radius_mm": LENGTH_OR_NULL,
    "floor_thickness_mm": LENGTH_OR_NULL,
    "islands": COUNT,
    "passage_mm": LENGTH_OR_NULL,
    "depth_ratio": LENGTH_OR_NULL,
}
_ROUND: Final[Schema] = {"radius_mm": LENGTH_OR_NULL, "variable": BOOLEAN}
_SEGMENT: Final[Schema] = record(
    {"shape": choice("cylinder", "cone"), "diameter_mm": LENGTH, "depth_mm": LENGTH, "end_diameter_mm": LENGTH}
)

KINDS: Final[dict[str, Schema]] = {
    "round_hole": _HOLE,
    "counterbore_hole": {**_HOLE, "counterbore_diameter_mm": POSITIVE, "counterbore_depth_mm": LENGTH},
    "countersunk_hole": {**_HOLE, "countersink_diameter_mm": POSITIVE, "countersink_angle_deg": POSITIVE},
    "stepped_hole": {**_HOLE, "segments": {**many(_SEGMENT), "minItems": 1}},
    "closed_pocket": _POCKET,
    "open_pocket": _POCKET,
    "slot": {
        "width_mm": LENGTH_OR_NULL,
        "depth_mm": LENGTH_OR_NULL,
        "length_mm": LENGTH_OR_NULL,
        "through": BOOLEAN,
        "ends": choice("open", "round", "flat"),
    },
    "step": {"depth_mm": LENGTH_OR_NULL, "width_mm": LENGTH_OR_NULL, "through": BOOLEAN},
    "boss": {"height_mm": LENGTH, "length_mm": LENGTH, "width_mm": LENGTH, "diameter_mm": LENGTH_OR_NULL},
    "groove": {
        "width_mm": LENGTH,
        "depth_mm": LENGTH,
        "diameter_mm": LENGTH,
        "side": choice("outer", "inner", "face"),
    },
    "fillet": _ROUND,
    "edge_round": _ROUND,
    "chamfer": {"width_mm": LENGTH, "angle_deg": NUMBER},
    "outer_round": {"diameter_mm": POSITIVE, "length_mm": LENGTH},
    "region": {"area_mm2": LENGTH, "min_concave_radius_mm": LENGTH_OR_NULL},
}
"""The own fields of each kind of feature."""


_USE: Final[Schema] = record(
    {
        "use": TEXT,
        "text": TEXT,
        "standard": TEXT,
        "fastener": TEXT,
        "diameter_mm": POSITIVE,
        "off_mm": NUMBER,
        "verified": BOOLEAN,
    }
)


def feature_schema() -> Schema:
    """Return a feature: what all have, and the own fields of its kind."""
    shared = record(
        {
            "id": TEXT,
            "kind": choice(*KINDS),
            "faces": FACES,
            "direction": VECTOR,
            "position_mm": VECTOR,
            "setup": TEXT_OR_NULL,
            "callout": TEXT,
            "fingerprint": TEXT,
            "why": TEXT,
            "tolerance_mm": LENGTH_OR_NULL,
            "tolerance_none_because": {**TEXT, "minLength": 1},
            "it_grade": {"type": ["integer", "null"]},
            "thread": TEXT_OR_NULL,
            "notes": TEXTS,
            "uses": many(_USE),  # of holes: what it is probably for, the most plausible first
        },
        ("tolerance_mm", "tolerance_none_because", "it_grade", "thread", "notes", "uses"),
    )
    own = [
        {
            "if": {"properties": {"kind": {"const": kind}}, "required": ["kind"]},
            "then": record(fields),
        }
        for kind, fields in KINDS.items()
    ]
    return {**shared, "allOf": own}


def note_schema() -> Schema:
    """Return what the file itself says about faces: a size, a tolerance, a datum or a thread."""
    numbers = ("nominal_mm", "upper_mm", "lower_mm", "nominal_deg", "upper_deg", "lower_deg", "pitch_mm")
    return record(
        {
            "id": TEXT,
            "kind": TEXT,
            "callout": TEXT,
            **dict.fromkeys(numbers, NUMBER_OR_NULL),
            "zone_mm": LENGTH_OR_NULL,
            "it_grade": {"type": ["integer", "null"]},
            "fit": TEXT,
            "use": choice("toleranced", "theoretical", "auxiliary"),
            "round_zone": BOOLEAN,
            "datums": TEXTS,
            "modifiers": TEXTS,
            "thread": TEXT,
            "faces": FACES,
            "features": TEXTS,
            "written": TEXT,
            "why_none": TEXT_OR_NULL,
        }
    )
