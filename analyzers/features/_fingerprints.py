"""A name for each feature that stays the same when the part is moved, re-exported or re-ordered."""

import hashlib
from collections import Counter
from dataclasses import replace

import numpy as np

from analyzers.features._view import View
from analyzers.model.arrays import Floats
from analyzers.model.feature import Feature

_STEP_MM = 0.02  # values are sorted into steps of this size ...
_SHIFT = 0.31837  # ... whose limits lie away from round numbers, so that noise does not carry one across


def with_fingerprints(view: View, features: list[Feature]) -> list[Feature]:
    """Return the features with fingerprints; equal ones are told apart by a number.

    Made of kind, own dimensions and the distances from the middle of the part's box, in the part's own frame, with
    signs left out: the same whichever way the part lies.
    """
    places = _places(view, features)
    seen: Counter[str] = Counter()
    named = []
    for feature, place in zip(features, places, strict=True):
        numbers = [_stepped(value) for value in _numbers(feature)]
        text = "|".join([feature.kind, *numbers, *(_stepped(float(v)) for v in place)])
        digest = hashlib.sha256(text.encode()).hexdigest()[:12]
        seen[digest] += 1
        mark = digest if seen[digest] == 1 else f"{digest}-{seen[digest]}"
        named.append(replace(feature, fingerprint=mark))
    return named


def _places(view: View, features: list[Feature]) -> Floats:
    """Return (N, 3) distances from the middle of the box in the part's frame, along its longest side first."""
    within = view.hull_mm @ view.frame.T
    low, high = within.min(axis=0), within.max(axis=0)
    order = np.argsort(-np.round(high - low, 3), kind="stable")
    position = np.array([f.position_mm for f in features]).reshape(-1, 3) @ view.frame.T
    apart: Floats = np.abs(position - 0.5 * (low + high))[:, order]
    return apart


def _numbers(feature: Feature) -> list[float]:
    own = feature.dimensions()
    return [float(own[key]) for key in sorted(own) if isinstance(own[key], (int, float))]


def _stepped(value: float) -> str:
    return str(int(np.floor(value / _STEP_MM + _SHIFT)))
