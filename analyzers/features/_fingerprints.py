"""A name for each feature that stays the same when the part is moved, re-exported, re-ordered or changed elsewhere.

What a name may be made of decides what it survives:

- The faces' numbers, the file's axes and the unit must not count. The frame that most planes follow does not serve
  either: a square plate has several, and which is taken depends on how the part lies.
- A place is measured from something. The centre of gravity moves with every hole; the middle of the box with every
  change of the outline; the nearest neighbours with every new neighbour. Whatever is taken, an edit that does not
  touch the feature renames it.
- What surrounds a feature is not its own: the thickness left below a pocket, the length of a hole that runs through,
  the slope of the face that a drill meets.

So a name is the feature's kind, its own words and its own sizes, and nothing else; equal features (eight holes of a
circle) share it and are numbered. A change elsewhere then renames none, and a hole that loses its size takes one
number of its equals with it. The numbers are given in an order that does not depend on how the part lies (`_ranks`);
features that the part's own symmetry exchanges are exchangeable, and so are their numbers.

Sizes are sorted into steps. Their limits lie off round numbers, a tenth of a step from every multiple of 0.005 mm, so
that a drawn size stays in its step whatever an exporter rounds; an arbitrary size 1e-6 mm off changes its step once
in 10,000.
"""

import hashlib
from collections import Counter
from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from analyzers.features._families import middles
from analyzers.features._ranks import ranked
from analyzers.features._view import View
from analyzers.model.feature import Feature, Thread

_STEP_MM = 0.02
_SHIFT = 0.31837
_SURROUNDINGS = frozenset(
    {"depth_ratio", "floor_thickness_mm", "bottom", "entry", "entry_angle_deg", "area_mm2", "min_concave_radius_mm"}
)
"""Fields that follow from others or depend on what lies around the feature; a free-form region has no sizes of its own:
its area changes with all that is cut into it, its least radius is found by a search."""


def with_fingerprints(view: View, features: list[Feature]) -> list[Feature]:
    """Return the features with fingerprints: 12 hex digits; equal features after the first have "-2", "-3" behind."""
    if not features:
        return []
    own = [hashlib.sha256("|".join(_own(feature)).encode()).hexdigest()[:12] for feature in features]
    middle, _ = middles(view.part, tuple(features))
    given: Counter[str] = Counter()
    marks = [""] * len(features)
    for row in ranked(view, own, middle).tolist():
        given[own[row]] += 1
        marks[row] = own[row] if given[own[row]] == 1 else f"{own[row]}-{given[own[row]]}"
    return [replace(feature, fingerprint=mark) for feature, mark in zip(features, marks, strict=True)]


def stepped(value: float) -> str:
    """Return the step of a length in millimetres or an angle in degrees; noise on a drawn one does not change it."""
    return str(int(np.floor(value / _STEP_MM + _SHIFT)))


def _own(feature: Feature) -> Iterator[str]:
    """Yield the kind and the feature's own fields as text, lengths and angles in steps."""
    yield feature.kind
    fields = feature.dimensions()
    through = bool(fields.get("through"))
    for key in sorted(fields):
        if key in _SURROUNDINGS or (through and key == "depth_mm"):
            continue
        value = fields[key]
        if key == "modelled_thread" and value is None:
            continue
        if isinstance(value, Thread):
            yield f"{key}{value.hand}{value.starts}|{stepped(value.major_mm)}|{stepped(value.pitch_mm)}"
        elif isinstance(value, tuple):  # the steps of a hole, from either end
            sizes = [[float(each.diameter_mm), float(each.end_diameter_mm)] for each in value]
            yield key + ";".join(sorted(",".join(map(stepped, sorted(pair))) for pair in sizes))
        elif isinstance(value, float):
            yield key + stepped(value)
        else:
            yield f"{key}{value}"
