"""What a finding is known by, so that one that was accepted stays accepted when the part is moved or changed elsewhere.

A finding is known by its rule, by the kinds of the features it is about and by the number it found: a pocket whose
floor is 0.4 mm thick is that finding whatever its corner radius becomes, and another one at 0.3 mm. Sizes that the
rule does not look at, the place on the part, faces and their areas do not count: an edit elsewhere would change them.
So what was accepted for one hole stands for one more of the same number under the same rule; findings of one file
that cannot be told apart are numbered (`_base`).

A number that only counts says nothing about which things were counted: then their own fingerprints count, each once,
so that seven of eight equal holes are still what was accepted for eight.
"""

import math
from collections.abc import Iterable
from hashlib import sha256

from analyzers.model.feature import Feature
from analyzers.model.measure import ThinPlace

_STEP = 0.005  # of the logarithm: numbers within half a percent are mostly one
_SHIFT = 0.31837  # no limit of a step is a number that occurs in drawings


def fingerprint(*marks: float | str) -> str:
    """Return 16 hex digits for words and numbers; numbers count to half a percent, so that noise changes none.

    Examples
    --------
    >>> fingerprint("thin_wall", 1.0) == fingerprint("thin_wall", 1.0000001)
    True
    >>> fingerprint("thin_wall", 1.0) == fingerprint("thin_wall", 1.02)
    False
    """
    text = "|".join(each if isinstance(each, str) else _stepped(each) for each in marks)
    return sha256(text.encode()).hexdigest()[:16]


def marks_of(on: Iterable[Feature], measured: float | None) -> tuple[float | str, ...]:
    """Return what a finding about features is known by: their kinds and the number, or themselves where it counts."""
    features = tuple(on)
    if isinstance(measured, float):
        return (*sorted({each.kind for each in features}), measured)
    return tuple(sorted({identity(each) for each in features}))


def identity(feature: Feature) -> str:
    """Return what a feature shares with its equals: its fingerprint without the number, or its kind and sizes."""
    return feature.fingerprint.partition("-")[0] or f"{feature.kind}|{feature.callout()}"


def marks_of_places(places: Iterable[ThinPlace]) -> tuple[float | str, ...]:
    """Return what thin places are known by: their thicknesses, each once.

    Not by the faces on their sides: of two pairs of faces equally thin, a copy of the part may find either.
    """
    return tuple(sorted({_stepped(each.thickness_mm) for each in places}))


def _stepped(value: float) -> str:
    if value == 0.0 or not math.isfinite(value):
        return str(value)
    return f"{'-' if value < 0 else ''}{math.floor(math.log(abs(value)) / _STEP + _SHIFT)}"
