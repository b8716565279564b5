"""Words of the model as people in the trade say them; one place, so that a page and a table never differ."""

from typing import Final

from analyzers.model.arrays import Vec
from analyzers.model.finding import Level
from analyzers.model.triage import Bucket

BUCKET: Final[dict[Bucket, str]] = {
    "routine": "Routine",
    "involved": "Involved",
    "demanding": "Demanding",
    "not_as_modelled": "Not as modelled",
}
BUCKET_MEANS: Final[dict[Bucket, str]] = {
    "routine": "everyday work: run it",
    "involved": "needs some planning",
    "demanding": "needs your best people or extra tooling",
    "not_as_modelled": "cannot be cut as it is drawn: ask before quoting",
}
LEVEL: Final[dict[Level, str]] = {"error": "Error", "warning": "Warning", "note": "Note"}
LEVEL_MEANS: Final[dict[Level, str]] = {
    "error": "stops the part as modelled",
    "warning": "costs time, risk or a special tool",
    "note": "worth knowing",
}

PROCESS: Final = {
    "milled": "Milled part",
    "turned": "Turned part",
    "mill_turned": "Turned and milled part",
    "not_machined": "Not evidently a machined part",
}

KIND: Final = {
    "round_hole": "hole",
    "counterbore_hole": "counterbored hole",
    "countersunk_hole": "countersunk hole",
    "stepped_hole": "stepped hole",
    "closed_pocket": "closed pocket",
    "open_pocket": "open pocket",
    "slot": "slot",
    "step": "step",
    "boss": "boss",
    "groove": "groove",
    "fillet": "fillet (inside round)",
    "edge_round": "edge round (outside)",
    "chamfer": "chamfer",
    "outer_round": "outer diameter",
    "region": "free-form region",
}

BOTTOM: Final = {
    "through": "through",
    "flat": "flat",
    "conical": "drill point",
    "spherical": "ball",
    "into_void": "into a cavity",
}

WALL: Final = {"wall": "wall", "floor": "floor", "web": "web between holes or to an edge"}

DOUBTED: Final = {
    "area_mm2": "surface",
    "centroid_mm": "centre of mass",
    "external_sharp_edge_length_mm": "length of sharp outside edges",
    "measures": "all measures",
    "min_floor_mm": "thinnest floor",
    "min_gap_mm": "narrowest gap",
    "min_wall_mm": "thinnest wall",
    "min_web_mm": "thinnest web",
    "sharp_internal_corners": "sharp inside corners",
    "size_mm": "size",
    "triage": "bucket and times",
    "volume_mm3": "volume",
    "walls": "thin places",
}
"""What a faulty model puts in doubt, by its name in the report document; a name that is not here is plain already."""

_SIDES: Final = (
    ((1.0, 0.0, 0.0), "+X", "from the right"),
    ((-1.0, 0.0, 0.0), "−X", "from the left"),
    ((0.0, 1.0, 0.0), "+Y", "from behind"),
    ((0.0, -1.0, 0.0), "−Y", "from the front"),
    ((0.0, 0.0, 1.0), "+Z", "from above"),
    ((0.0, 0.0, -1.0), "−Z", "from below"),
)
_ALONG: Final = 0.9999
"""Cosine of some 0.8 degrees: shown as the axis itself; the exact vector stays in the JSON."""


def side(direction: Vec) -> str:
    """Return where the cutter comes from, in the axes of the model: "+Z (from above)", or the vector itself."""
    for axis, name, words in _SIDES:
        if sum(a * b for a, b in zip(axis, direction, strict=True)) >= _ALONG:
            return f"{name} ({words})"
    return "slanted (" + ", ".join(f"{each:.3g}".replace("-", "−") for each in direction) + ")"
