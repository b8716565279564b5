"""Which features of two revisions are the same, changed, added or removed, the bodies laid onto one another."""

from dataclasses import dataclass, replace
from typing import Any, Final

import numpy as np
from scipy.optimize import linear_sum_assignment

from analyzers.compare.changes import Difference, FeatureChange, FeatureMet
from analyzers.compare.motion import Motion
from analyzers.model.arrays import Floats
from analyzers.model.facegraph import edges_of_faces, other_side
from analyzers.model.feature import Feature
from analyzers.model.part import Part
from analyzers.tolerance import SAME_PLACE_MM

_SAME_RATIO: Final = 1e-4  # of a value: what two exporters' splines leave of one another
_DERIVED: Final = ("_ratio",)  # follow from the other fields
_LENGTHS: Final = "segments"
_BLENDS: Final = ("fillet", "edge_round", "chamfer")
_RADII: Final = {"corner_radius_mm", "floor_radius_mm"}
_FAR: Final = 1e9  # cost of a pair that must not be


@dataclass(frozen=True, slots=True)
class FeatureMatch:
    """The outcome for one pair of bodies."""

    partner: dict[str, str]  # id in the new revision of each old feature that is still there
    changed: tuple[FeatureChange, ...]
    added: tuple[FeatureMet, ...]
    removed: tuple[FeatureMet, ...]


@dataclass(frozen=True, slots=True)
class _Side:
    """One revision's features with what pairs them: middles of their faces, positions and spans, in the new pose."""

    features: tuple[Feature, ...]
    middle: Floats  # (N, 3)
    position: Floats  # (N, 3)
    reach: Floats  # (N,) farthest of their faces' middles from their own middle

    def left(self, taken: set[int]) -> list[int]:
        return [each for each in range(len(self.features)) if each not in taken]


def match_features(
    old: tuple[Feature, ...], new: tuple[Feature, ...], parts: tuple[Part, Part], motion: Motion
) -> FeatureMatch:
    """Pair the features of two revisions.

    First those of one kind and one place with equal values; then of one kind near one place (other values); then of
    another kind near one place; then equal ones at another place (moved). What is left was removed or added.
    """
    here, there = _side(old, parts[0], motion), _side(new, parts[1], None)
    taken_here: set[int] = set()
    taken_there: set[int] = set()
    partner: dict[str, str] = {}
    changed: list[FeatureChange] = []
    for cost in (_in_place, _near, _replaced, _elsewhere):
        rows, columns = here.left(taken_here), there.left(taken_there)
        for one, other in _pairs(here, there, rows, columns, cost):
            taken_here.add(one)
            taken_there.add(other)
            partner[old[one].id] = new[other].id
            change = _change(here, there, one, other)
            if change is not None:
                changed.append(change)
    return FeatureMatch(
        partner,
        _folded(sorted(changed, key=lambda each: _number(each.new)), new, parts[1]),
        tuple(_met(new[each]) for each in there.left(taken_there)),
        tuple(_met(old[each]) for each in here.left(taken_here)),
    )


def _side(features: tuple[Feature, ...], part: Part, motion: Motion | None) -> _Side:
    centroid, area = part.face_centroid_mm, part.face_area_mm2
    middle = np.zeros((len(features), 3))
    reach = np.zeros(len(features))
    for row, each in enumerate(features):
        faces = np.array(each.faces, dtype=np.int64)
        middle[row] = np.average(centroid[faces], axis=0, weights=np.maximum(area[faces], 1e-12))
        reach[row] = float(np.sqrt(area[faces].sum()))
    position = np.array([each.position_mm for each in features], dtype=float).reshape(-1, 3)
    if motion is not None:
        middle, position = motion.at(middle), motion.at(position)
    return _Side(features, middle, position, reach)


def _pairs(here: _Side, there: _Side, rows: list[int], columns: list[int], cost: Any) -> list[tuple[int, int]]:
    """Return the pairs that cost least in all, without those that must not be."""
    if not rows or not columns:
        return []
    table = np.array([[cost(here, there, one, other) for other in columns] for one in rows])
    picked = zip(*linear_sum_assignment(table), strict=True)
    return [(rows[i], columns[j]) for i, j in picked if table[i, j] < _FAR]


def _apart(here: _Side, there: _Side, one: int, other: int) -> float:
    """Return how far two features are apart: by their middles or their positions, whichever is less."""
    return min(
        float(np.linalg.norm(here.middle[one] - there.middle[other])),
        float(np.linalg.norm(here.position[one] - there.position[other])),
    )


def _in_place(here: _Side, there: _Side, one: int, other: int) -> float:
    a, b = here.features[one], there.features[other]
    apart = _apart(here, there, one, other)
    near = apart <= 4 * SAME_PLACE_MM
    return apart if a.kind == b.kind and near and not differences(a, b) else _FAR


def _near(here: _Side, there: _Side, one: int, other: int) -> float:
    a, b = here.features[one], there.features[other]
    apart = _apart(here, there, one, other)
    within = 0.5 * max(float(here.reach[one]), float(there.reach[other]))
    return apart + 0.1 * within * len(differences(a, b)) if a.kind == b.kind and apart <= within else _FAR


def _replaced(here: _Side, there: _Side, one: int, other: int) -> float:
    apart = _apart(here, there, one, other)
    return apart if apart <= 0.25 * max(float(here.reach[one]), float(there.reach[other])) else _FAR


def _elsewhere(here: _Side, there: _Side, one: int, other: int) -> float:
    a, b = here.features[one], there.features[other]
    return _apart(here, there, one, other) if a.kind == b.kind and not differences(a, b) else _FAR


def differences(old: Feature, new: Feature) -> tuple[Difference, ...]:
    """Return the fields whose values are not the same; of different kinds, the kind alone."""
    if old.kind != new.kind:
        return (Difference(field="kind", old=old.kind, new=new.kind),)
    before, after = old.dimensions(), new.dimensions()
    found = [name for name in before if not name.endswith(_DERIVED) and not same_value(before[name], after[name])]
    named = [name for name in found if name != _LENGTHS] or found  # a hole's lengths say again what its fields say
    return tuple(Difference(field=name, old=shown(before[name]), new=shown(after[name])) for name in named)


def same_value(old: Any, new: Any) -> bool:
    """Return whether two values are one: numbers within 1e-3 mm or a ten-thousandth, all else equal."""
    if isinstance(old, float | int) and isinstance(new, float | int) and not isinstance(old, bool):
        return bool(abs(old - new) <= max(SAME_PLACE_MM, _SAME_RATIO * abs(old)))
    if isinstance(old, tuple) and isinstance(new, tuple):
        return len(old) == len(new) and all(same_value(a, b) for a, b in zip(old, new, strict=True))
    if hasattr(old, "__dataclass_fields__") and type(old) is type(new):
        return all(same_value(getattr(old, name), getattr(new, name)) for name in old.__dataclass_fields__)
    return bool(old == new)


def shown(value: Any) -> float | str | bool | None:
    """Return a value as a comparison shows it: numbers as they are, lengths of a stepped hole as text."""
    if value is None or isinstance(value, bool | str):
        return value
    if isinstance(value, float | int):
        return float(value)
    return ", ".join(_text(each) for each in value) if isinstance(value, tuple) else _text(value)


def _text(value: Any) -> str:
    if hasattr(value, "__dataclass_fields__"):
        return " ".join(_text(getattr(value, name)) for name in value.__dataclass_fields__)
    return f"{value:g}" if isinstance(value, float) else str(value)


def _change(here: _Side, there: _Side, one: int, other: int) -> FeatureChange | None:
    """Return what changed from one feature to its partner; None = nothing."""
    old, new = here.features[one], there.features[other]
    values = differences(old, new)
    if not values:
        moved = _apart(here, there, one, other)
    elif old.kind in _BLENDS or old.kind != new.kind:
        moved = 0.0  # their middles move with their size
    else:
        away = there.position[other] - here.position[one]
        out = np.array(new.direction)
        moved = float(np.linalg.norm(away - (away @ out) * out))
    moved = moved if moved > 4 * SAME_PLACE_MM else 0.0
    if not values and not moved:
        return None
    return FeatureChange(
        old=old.id,
        new=new.id,
        kind=new.kind,
        old_callout=old.callout(),
        new_callout=new.callout(),
        differences=values,
        moved_mm=moved,
    )


def _folded(changed: list[FeatureChange], new: tuple[Feature, ...], part: Part) -> tuple[FeatureChange, ...]:
    """Return the changes with rounds and chamfers that only followed a changed feature put under it.

    One follows when it touches that feature and was only moved, or when its new radius is the feature's own.
    """
    owner = {face: each.id for each in new for face in each.faces}
    faces = {each.id: each.faces for each in new}
    around = edges_of_faces(part)
    leaders = [each for each in changed if each.kind not in _BLENDS]
    with_it: dict[str, list[str]] = {each.new: [] for each in leaders}
    kept = []
    for each in changed:
        touched = {owner.get(other_side(part, edge, face)) for face in faces[each.new] for edge in around[face]}
        leader = next((lead for lead in leaders if lead.new in touched and _follows(each, lead)), None)
        if each.kind in _BLENDS and leader is not None:
            with_it[leader.new].append(each.new)
        else:
            kept.append(each)
    return tuple(replace(each, with_it=tuple(with_it.get(each.new, ()))) for each in kept)


def _follows(blend: FeatureChange, leader: FeatureChange) -> bool:
    said = {each.field for each in blend.differences}
    return not said or (said == {"radius_mm"} and bool(_RADII & {each.field for each in leader.differences}))


def _met(feature: Feature) -> FeatureMet:
    return FeatureMet(
        id=feature.id,
        kind=feature.kind,
        callout=feature.callout(),
        position_mm=feature.position_mm,
        faces=feature.faces,
    )


def _number(feature_id: str) -> int:
    return int(feature_id.lstrip("F") or 0)
